"""Suites of expectations on the records as staged: what Great Expectations makes of them, worded for a person."""
