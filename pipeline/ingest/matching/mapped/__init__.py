"""A firm's own sheets are read by their mapping."""
