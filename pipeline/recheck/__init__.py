"""`fitback recheck`: new doors against what the firm's records say, before they are handed over."""
