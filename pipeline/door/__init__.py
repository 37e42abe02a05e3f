"""One door: its trail of numbers on the terminal, and its sheet with the door drawn as it was read."""
