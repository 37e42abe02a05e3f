"""The records as they are kept: every version of a row, and which of them counts."""
