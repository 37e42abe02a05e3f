"""The rows that pages are made of, by what they speak of."""
