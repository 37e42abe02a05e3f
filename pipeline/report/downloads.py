"""The table behind a figure as a file to save: CSV inside the page, under the rules of the written tables.

UTF-8, comma, LF, empty = null, ISO dates, never inf or nan; a text that a spreadsheet would take for a formula gets an
apostrophe in front.
"""

from base64 import b64encode

import polars as pl

from pipeline.report.sheet import Download

MOST_BYTES = 400_000
FORMULA = r"^[=+\-@\t\r]"


def download(table: str, frame: pl.DataFrame) -> Download:
    """A link to `table`.csv. Where it would weigh down the page, the words name the file beside the pages instead."""
    content = as_csv(frame).encode("utf-8")
    beside = f"the same as tables/{table}.csv beside these pages"
    if len(content) > MOST_BYTES:
        return Download(f"{table}.csv", "", f"All rows: tables/{table}.csv beside these pages")
    href = f"data:text/csv;charset=utf-8;base64,{b64encode(content).decode('ascii')}"
    return Download(f"{table}.csv", href, beside)


def as_csv(frame: pl.DataFrame) -> str:
    """The frame as CSV text.

    >>> as_csv(pl.DataFrame({"crew": ["=1+1"], "rate": [float("nan")]}))
    "crew,rate\\n'=1+1,\\n"
    """
    cells = [_cell(name, kind) for name, kind in frame.schema.items()]
    return frame.select(cells).write_csv(line_terminator="\n")


def _cell(name: str, kind: pl.DataType) -> pl.Expr:
    column = pl.col(name)
    if kind.is_float():
        return pl.when(column.is_finite()).then(column)
    if kind == pl.String:
        quoted = pl.concat_str(pl.lit("'"), column)
        return pl.when(column.str.contains(FORMULA)).then(quoted).otherwise(column).alias(name)
    return column
