"""Blank record sheets for one size of door: paper to write on, and workbooks that go back in without a mapping."""
