"""The SQL models: one file per table, in folders by layer, read by `pipeline.graph`."""
