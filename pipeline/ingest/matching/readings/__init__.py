"""Which columns are readings or checks, and of what."""
