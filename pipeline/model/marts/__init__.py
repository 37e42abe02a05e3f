"""Result tables that need a model: one module per table, named after it."""
