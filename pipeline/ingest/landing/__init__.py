"""Judged rows land in the history; people who were erased stay so."""
