"""The key of a row within its load: the spreadsheet row and, in a mapped sheet, the column that its value stands in.

A sheet with one column per reading makes several records of one spreadsheet row; the key tells them apart. Rows of
canonical files have column 0, so there key and row are the same number.
"""

_ROW_BITS = 32


def row_key(row: int, place: int = 0) -> int:
    """The key of a row (from 1) and a column (from 1; 0: no column of its own)."""
    return row | place << _ROW_BITS


def row_of(key: int) -> int:
    """The row of a key."""
    return key & ((1 << _ROW_BITS) - 1)


def key_sql(row: str, place: str) -> str:
    """SQL of the key of a row and a column."""
    return f"(({row})::BIGINT | (({place})::BIGINT << {_ROW_BITS}))"


def row_sql(key: str) -> str:
    """SQL of the spreadsheet row of a key."""
    return f"({key} & {(1 << _ROW_BITS) - 1})::INTEGER"


def place_sql(key: str) -> str:
    """SQL of the spreadsheet column of a key."""
    return f"({key} >> {_ROW_BITS})::INTEGER"
