"""Sentences from rows: pure functions, a module a subject. No sentence claims more than the interval beside it."""
