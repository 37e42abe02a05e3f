"""Tables made in Python: one module per table in folders by layer, and what those modules share."""
