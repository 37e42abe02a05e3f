"""Tables of the deviations layer that need more than one SELECT: one module per table, named after it."""
