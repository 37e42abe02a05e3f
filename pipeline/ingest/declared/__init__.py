"""What a [[sheet]] table of fitback.toml declares."""
