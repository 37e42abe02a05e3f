"""Reads Parquet as text, a batch at a time, so that one authority judges every form."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.files.headers import Header, Unreadable, find_header
from pipeline.ingest.files.sheets import PART_ROWS, Part, Sheet
from pipeline.ingest.history.segments import FIRST_ROW
from pipeline.ingest.judging.cells import NOT_A_TEXT
from pipeline.ingest.records import NUMBER, Record

if TYPE_CHECKING:
    import pyarrow.parquet as pq


def open_parquet(record: Record, path: Path) -> tuple["pq.ParquetFile", Header]:
    """The file and its header. Raises Unreadable where it is no Parquet file, or lacks a required column."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    if not path.stat().st_size:
        raise Unreadable("the file is empty; put the columns of the record in it")
    try:
        file = pq.ParquetFile(path)
        names = file.schema_arrow.names
    except (pa.ArrowException, OSError, UnicodeDecodeError):
        raise Unreadable("this is not a Parquet file; save it again as .parquet") from None
    return file, find_header(record, names)


def read_parquet(record: Record, path: Path) -> list[Sheet]:
    """The one sheet of a Parquet file. Raises Unreadable, as open_parquet."""
    file, header = open_parquet(record, path)
    return [Sheet(None, header, _parts(record, file, header))]


def as_part(record: Record, frame: pl.DataFrame, header: Header) -> Part:
    """Rows with their numbers (`row`) as text; columns stand under the names of the record."""
    kinds = {name: record.column(name).kind for name in header.places}
    texts = frame.select("row", *(_as_text(frame.schema[name], name, kinds[name]) for name in header.places))
    return Part(texts.filter(pl.any_horizontal(pl.exclude("row").is_not_null())))


def _parts(record: Record, file: "pq.ParquetFile", header: Header) -> Iterator[Part]:
    import pyarrow as pa

    names = file.schema_arrow.names
    wanted = {names[place]: name for name, place in header.places.items()}
    row = FIRST_ROW
    try:
        for batch in file.iter_batches(batch_size=PART_ROWS, columns=list(wanted)):
            batch.validate(full=True)  # texts that are none would fail much later
            frame = pl.DataFrame(batch).rename(wanted).with_row_index("row", offset=row)
            row += frame.height
            yield as_part(record, frame.cast({"row": pl.Int64}), header)
    except (pa.ArrowException, pl.exceptions.PolarsError, OSError, UnicodeDecodeError):
        raise Unreadable("the file is damaged; save it again as .parquet") from None


def _as_text(kind: pl.DataType, name: str, wanted: str) -> pl.Expr:
    column = pl.col(name)
    if isinstance(kind, pl.Datetime):
        # the day as the file's own clock shows it
        text = column.dt.replace_time_zone(None).dt.to_string("%Y-%m-%d")
    elif kind.is_float():
        whole = (column == column.round(0)) & (column.abs() < 1e15)
        as_whole = column.cast(pl.Int64, strict=False).cast(pl.String)
        decimal = column.cast(pl.Float64).cast(pl.String)
        if wanted == NUMBER:
            # with an exponent, the point of a number that is one already is in no doubt
            has_point = decimal.str.contains(".", literal=True) & ~decimal.str.contains("e", literal=True)
            decimal = pl.when(has_point).then(decimal + "e0").otherwise(decimal)
        text = pl.when(whole).then(as_whole).otherwise(decimal)
    elif kind.is_nested() or kind in (pl.Binary, pl.Object):
        text = pl.when(column.is_not_null()).then(pl.lit(NOT_A_TEXT))
    else:
        text = column.cast(pl.String)
    return text.alias(name)
