"""Tables of a simulated firm the long way: its records written, taken in and built, as `fitback run` does."""

from pathlib import Path

import duckdb
import polars as pl

from pipeline.building.build import BuildInputs, build_results
from pipeline.demo import write_firm
from pipeline.demo.simulate import Firm
from pipeline.ingest.take import take_in
from pipeline.progress import Silence
from pipeline.publish import RESULTS
from pipeline.run import RECORDS, source_tables
from pipeline.settings import load_settings


def tables_from_records(firm: Firm, tables: tuple[str, ...], folder: Path) -> dict[str, pl.DataFrame]:
    """These tables of the firm. folder: an empty one for its records and results."""
    write_firm(firm, folder / "records", "parquet")
    return tables_of_folder(folder / "records", tables, folder / "out")


def tables_of_folder(records: Path, tables: tuple[str, ...], out: Path) -> dict[str, pl.DataFrame]:
    """These tables of a folder of records. out: where they go; it must not exist."""
    out.mkdir()
    settings, catalogue = load_settings(records)
    intake = take_in(records, out, settings, catalogue, Silence())
    sources = source_tables(settings, catalogue, intake)
    build_results(BuildInputs(out / RECORDS, sources, only=tables), out / RESULTS, Silence())
    with duckdb.connect(out / RESULTS, read_only=True) as results:
        return {name: results.table(name).pl() for name in tables}
