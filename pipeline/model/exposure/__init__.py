"""Models of who was watched when, and of how late paper comes."""
