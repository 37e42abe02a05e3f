"""Writes a simulated firm's records as a canonical folder; the truth only where the caller asks for it."""

from collections.abc import Iterable
from pathlib import Path
from typing import Literal

import polars as pl
import pyarrow.parquet as pq

from pipeline.demo.callbacks import LABOUR_RATE
from pipeline.demo.sheets import write_sheet
from pipeline.demo.simulate import Firm

Form = Literal["csv", "parquet", "xlsx"]


def write_firm(firm: Firm, folder: Path, form: Form = "csv", truth: Path | None = None) -> None:
    """Records and fitback.toml in `folder` (made if missing), one file a record; readings in parts, never all at once.

    truth  folder for truth.parquet, carelessness.parquet and true_deviations.parquet; must not be `folder`
    Raises ValueError for another form, or where the truth would lie beside the records.
    """
    if form not in ("csv", "parquet", "xlsx"):
        raise ValueError(f"form is '{form}'; choose csv, parquet or xlsx")
    folder.mkdir(parents=True, exist_ok=True)
    for record, table in firm.records.items():
        if table.height:
            _write(table, folder / f"{record}.{form}", form)
    _write_parts(firm.reading_parts(), folder, form)
    (folder / "fitback.toml").write_text(_settings(firm), encoding="utf-8")
    if truth is not None:
        write_truth(firm, truth, folder)


def write_truth(firm: Firm, truth: Path, records: Path) -> None:
    """The truth as Parquet files in a folder of its own."""
    if truth.resolve() == records.resolve():
        raise ValueError("the truth must not lie beside the records; name another folder")
    truth.mkdir(parents=True, exist_ok=True)
    firm.truth.write_parquet(truth / "truth.parquet")
    firm.carelessness.write_parquet(truth / "carelessness.parquet")
    true = firm.doors.installs.select("install_id").with_columns(
        **{name: pl.Series(values) for name, values in firm.true.items()}
    )
    true.write_parquet(truth / "true_deviations.parquet")


def _write(table: pl.DataFrame, path: Path, form: Form) -> None:
    if form == "csv":
        table.write_csv(path)
    elif form == "parquet":
        table.write_parquet(path)
    else:
        write_sheet(table, path)


def _write_parts(parts: Iterable[pl.DataFrame], folder: Path, form: Form) -> None:
    if form == "csv":
        with (folder / "readings.csv").open("wb") as file:
            for number, part in enumerate(parts):
                part.write_csv(file, include_header=number == 0)
    elif form == "parquet":
        _write_parquet_parts(parts, folder / "readings.parquet")
    else:
        for number, part in enumerate(parts, start=1):
            write_sheet(part, folder / f"readings {number}.xlsx")


def _write_parquet_parts(parts: Iterable[pl.DataFrame], path: Path) -> None:
    writer = None
    for part in parts:
        table = part.to_arrow()
        writer = writer or pq.ParquetWriter(path, table.schema)
        writer.write_table(table)
    if writer:
        writer.close()


def _settings(firm: Firm) -> str:
    return (
        'firm = "Invented firm (simulated)"\n'
        'currency = "GBP"\n'
        f"as_of = {firm.scenario.ends_on.isoformat()}\n"
        f"labour_rate = {LABOUR_RATE}\n"
    )
