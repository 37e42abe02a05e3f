"""The invented firm: its files, and the simulator that wrote them and knows the truth."""
