"""Reads Parquet as text, a batch at a time, so that one authority judges every form."""

from collections.abc import Iterator
from pathlib import Path

import polars as pl

from pipeline.ingest.headers import Header, Unreadable, find_header
from pipeline.ingest.records import Record
from pipeline.ingest.sheets import PART_ROWS, Part, Sheet

FIRST_ROW = 2


def read_parquet(record: Record, path: Path) -> list[Sheet]:
    """The one sheet of a Parquet file. Raises Unreadable where it is none, or lacks a required column."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        file = pq.ParquetFile(path)
    except (pa.ArrowException, OSError):
        raise Unreadable("this is not a Parquet file; save it again as .parquet") from None
    names = file.schema_arrow.names
    header = find_header(record, names)
    wanted = [names[place] for place in header.places.values()]
    return [Sheet(None, header, _parts(file, header, wanted))]


def _parts(file: "pq.ParquetFile", header: Header, wanted: list[str]) -> Iterator[Part]:  # type: ignore[name-defined]  # noqa: F821
    row = FIRST_ROW
    for batch in file.iter_batches(batch_size=PART_ROWS, columns=wanted):
        frame = pl.from_arrow(batch)
        assert isinstance(frame, pl.DataFrame)
        texts = frame.select(
            _as_text(frame.schema[name], written).alias(name)
            for name, written in zip(header.places, wanted, strict=True)
        )
        texts = texts.with_row_index("row", offset=row).cast({"row": pl.Int64})
        row += frame.height
        yield Part(texts.filter(pl.any_horizontal(pl.exclude("row").is_not_null())))


def _as_text(kind: pl.DataType, name: str) -> pl.Expr:
    column = pl.col(name)
    if isinstance(kind, pl.Datetime):
        # the day as the file's own clock shows it
        return column.dt.replace_time_zone(None).dt.to_string("%Y-%m-%d")
    if kind.is_float():
        whole = (column == column.round(0)) & (column.abs() < 1e15)
        return (
            pl.when(whole).then(column.cast(pl.Int64, strict=False).cast(pl.String)).otherwise(column.cast(pl.String))
        )
    if kind.is_nested() or kind == pl.Binary:
        return pl.lit("(not a text)")
    return column.cast(pl.String)
