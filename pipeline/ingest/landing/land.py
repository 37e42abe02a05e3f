"""Lands the judged rows of one sheet in the history, its problems beside them and its personal cells apart."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.files.blank_lines import filled_lines
from pipeline.ingest.files.sheets import Misfit, Part, Sheet
from pipeline.ingest.history.mended_tables import MOST_LINES
from pipeline.ingest.history.store import PEOPLE_TABLES, quoted, rows_columns, rows_table, with_frame
from pipeline.ingest.judging.judge import PROBLEMS, Judge
from pipeline.ingest.landing.erased import Erasures
from pipeline.ingest.landing.waiting import Waiting
from pipeline.ingest.mending.ledger import as_json
from pipeline.ingest.mending.overlay import Overlay
from pipeline.ingest.records import READINGS, WITHIN
from pipeline.ingest.texts.manners import Manners

if TYPE_CHECKING:
    import duckdb


@dataclass
class Count:
    """Rows of a sheet: read, set aside while reading, and kept in the history; lines of a record sheet left empty."""

    n_read: int = 0
    n_refused: int = 0
    n_kept: int = 0
    n_empty: int = 0


class Landing:
    """Lands sheets. people: a second connection, whose writes stand before the records' transaction ends.

    overlay   what people corrected in the rows of the file
    erasures  what is blanked as it lands
    """

    def __init__(
        self,
        records: "duckdb.DuckDBPyConnection",
        people: "duckdb.DuckDBPyConnection",
        judge: Judge,
        overlay: Overlay,
        erasures: Erasures,
    ) -> None:
        self.records = records
        self.people = people
        self.judge = judge
        self.overlay = overlay
        self._erasures = erasures

    def land(self, load: int, sheet: Sheet) -> Count:
        """Lands every part of a sheet under a load number. Raises Unreadable where a part cannot be read.

        All parts are looked at before the first is judged: they show together how the sheet is written. A form holds
        one day of a kind, which alone seldom shows it: all that were filled in on the same form do.
        """
        count, evidence = Count(), self.judge.evidence()
        if sheet.days is not None:
            evidence.add(sheet.days)
        with Waiting(self.records) as waiting:
            for part in (self.overlay.over(sheet.name, part) for part in sheet.parts):
                if sheet.header.is_record_sheet:
                    part.rows, n_empty = filled_lines(self.judge.record, part.rows)
                    count.n_empty += n_empty
                evidence.add(part.rows)
                waiting.add(part)
            manners = evidence.manners(sheet.header.units, sheet.header.turned, sheet.year, sheet.beside)
            for part in waiting.parts():
                self.land_part(load, part, sheet.header.width, count, manners)
        return count

    def land_part(self, load: int, part: Part, width: int, count: Count, manners: Manners) -> None:
        """Lands one part and counts its rows. manners: how the columns of its sheet are written."""
        judged = self.judge(part.rows, manners)
        problems = pl.concat([judged.problems, _misfit_problems(part.misfits, width)])
        self._insert_rows(load, judged.rows)
        self._insert_problems(load, problems)
        self._keep_refused(load, part, problems)
        count.n_read += part.n_rows
        count.n_refused += problems.filter(pl.col("scope") == "row").height
        count.n_kept += judged.rows.height

    def _insert_rows(self, load: int, rows: pl.DataFrame) -> None:
        record = self.judge.record
        columns = quoted(*(name for name, _ in rows_columns(record)))
        rows = self._erasures.misplaced(record, rows)
        target = f'{rows_table(record)} ({columns}, load, "row")'
        source = f'SELECT {columns}, {load}, "row" FROM incoming'
        with_frame(self.records, rows, f"INSERT INTO {target} {source}")
        raw = rows.filter(pl.col("raw").is_not_null())
        if raw.height:
            with_frame(self.records, raw, f'INSERT INTO raw_cells SELECT {load}, "row", raw FROM incoming')
        if record is READINGS:
            leans = rows.filter(pl.col("value").is_null() & pl.col("written_unit").ne_missing(WITHIN))
            with_frame(self.records, leans, f'INSERT INTO door_leans SELECT {load}, "row" FROM incoming')
        if record.personal:
            names = quoted(record.key[0], *(column.name for column in record.personal))
            people = PEOPLE_TABLES[record.name]
            rows = self._erasures.blanked(record, rows)
            with_frame(self.people, rows, f'INSERT INTO {people} SELECT {load}, "row", {names}, false FROM incoming')

    def _keep_refused(self, load: int, part: Part, problems: pl.DataFrame) -> None:
        """Keeps what rows that are set aside say, for the workbook in which they can be mended."""
        refused = problems.filter(pl.col("scope") == "row").select("row").head(MOST_LINES)
        rows = part.rows.join(refused, on="row", how="semi", maintain_order="left")
        kept = [(load, cells["row"], as_json(self.overlay.texts(cells))) for cells in rows.iter_rows(named=True)]
        frame = pl.DataFrame(kept, schema={"load": pl.Int32, "row": pl.Int64, "cells": pl.String}, orient="row")
        if kept:
            with_frame(self.records, frame, "INSERT INTO refused_texts FROM incoming")

    def _insert_problems(self, load: int, problems: pl.DataFrame) -> None:
        problems = self._erasures.scrubbed(problems)
        if problems.height:
            with_frame(self.records, problems, f"INSERT INTO problems SELECT {load}, {quoted(*PROBLEMS)} FROM incoming")


def _misfit_problems(misfits: list[Misfit], width: int) -> pl.DataFrame:
    reasons = [
        one.fault
        if isinstance(one.fault, str)
        else f"the row has {one.fault} cells and the header {width}; give it as many"
        for one in misfits
    ]
    return pl.DataFrame(
        {"row": [one.row for one in misfits], "reason": reasons}, schema={"row": pl.Int64, "reason": pl.String}
    ).select(
        "row",
        pl.lit(None, pl.String).alias("column"),
        pl.lit(None, pl.String).alias("value"),
        "reason",
        pl.lit("row").alias("scope"),
        pl.lit(None, pl.String).alias("door"),
    )
