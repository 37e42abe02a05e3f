"""The calibration study: simulated firms with a known truth, and whether the tables keep what they promise."""
