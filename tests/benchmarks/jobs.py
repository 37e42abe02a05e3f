"""What is measured, each in a process of its own: `python -m tests.benchmarks.jobs NAME FOLDER OUT` prints one line.

The line is JSON: the seconds that the work took (the start of Python and loading what `LOADED` names not
counted), the most memory that the process held, in MiB, and what the job found.
"""

import importlib
import json
import os
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

READINGS_TYPES = {
    "install_id": "VARCHAR", "measure": "VARCHAR", "member": "VARCHAR", "station": "VARCHAR", "position_mm": "DOUBLE",
    "value": "DOUBLE", "unit": "VARCHAR", "instrument": "VARCHAR", "read_on": "DATE", "read_by": "VARCHAR",
}  # fmt: skip
CONSUMED = {"VARCHAR": "count", "DOUBLE": "sum", "DATE": "max"}


def floor(folder: Path, _: Path) -> dict[str, Any]:
    """DuckDB's read of readings.csv with declared types, every column converted and consumed."""
    import duckdb

    columns = ", ".join(f'{CONSUMED[kind]}("{name}")' for name, kind in READINGS_TYPES.items())
    with duckdb.connect() as connection:
        connection.execute("SET enable_progress_bar = false")
        row = connection.execute(f"SELECT {columns} FROM {read_csv(folder / 'readings.csv')}").fetchall()[0]
    return {"rows": row[0]}


def read_csv(path: Path) -> str:
    """The readings of a CSV file with declared types, as a table function."""
    columns = ", ".join(f"'{name}': '{kind}'" for name, kind in READINGS_TYPES.items())
    return f"read_csv('{path}', header = true, columns = {{{columns}}})"


def deviations(folder: Path, out: Path) -> dict[str, Any]:
    """Every deviation of every door, by the project's own models over a view of readings.csv.

    A run cuts the readings it has taken in into slices of doors, which fit little memory; a CSV cannot be cut, so it is
    given the memory that all its groups take.
    """
    from tests.benchmarks.straight import deviations_straight_from_csv

    os.environ.setdefault("FITBACK_MEMORY", "3GB")
    return {"rows": deviations_straight_from_csv(folder, out)}


def taking_in(folder: Path, out: Path) -> dict[str, Any]:
    """Records to records.duckdb: account, repeats, history."""
    from pipeline.ingest.declared.mapping_tables import read_mapping
    from pipeline.ingest.files.folder import list_folder
    from pipeline.ingest.history.store import open_store
    from pipeline.ingest.take import rules_of, take_records
    from pipeline.settings import load_settings

    out.mkdir(parents=True, exist_ok=True)
    listing = list_folder(folder, out, read_mapping(folder))
    with open_store(out) as connection:
        take_records(connection, listing, out, rules_of(*load_settings(folder)), _silent())
    return {}


def all_tables(folder: Path, out: Path) -> dict[str, Any]:
    """Records to every table of results.duckdb."""
    from pipeline.building.build import BuildInputs, build_results
    from pipeline.ingest.take import take_in
    from pipeline.run import RECORDS, source_tables
    from pipeline.settings import load_settings

    settings, catalogue = load_settings(folder)
    out.mkdir(parents=True, exist_ok=True)
    intake = take_in(folder, out, settings, catalogue, _silent())
    inputs = BuildInputs(out / RECORDS, source_tables(settings, catalogue, intake))
    report = build_results(inputs, out / "results.duckdb", _silent())
    return {"tables": {table.table: round(table.seconds, 3) for table in report.tables}}


def same_numbers(folder: Path, out: Path) -> dict[str, Any]:
    """What the reference script works out, and no more: deviations, door time, rates and effects straight from CSV."""
    from tests.benchmarks.straight import numbers_straight_from_csv

    numbers_straight_from_csv(folder, out)
    return {}


def whole_run(folder: Path, out: Path) -> dict[str, Any]:
    """The main job, pages included."""
    from pipeline.run import run_firm

    run_firm(folder, out, _silent())
    return {}


def reference(folder: Path, out: Path) -> dict[str, Any]:
    """The same numbers by a pandas and statsmodels script."""
    from tests.benchmarks.reference_pandas import analyse

    out.mkdir(parents=True, exist_ok=True)
    for name, frame in analyse(folder).items():
        frame.to_parquet(out / f"{name}.parquet")
    return {}


def _silent() -> Any:
    from pipeline.progress import Silence

    return Silence()


def peak_mib() -> float:
    """The most memory this process has held."""
    status = Path("/proc/self/status")
    if status.is_file():  # what resource tells there is at least what the parent held when it started this process
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2


# What each job would load first, so that loading it is not counted.
LOADED = {
    "floor": ("duckdb",),
    "deviations": ("tests.benchmarks.straight", "duckdb", "sqlglot"),
    "same_numbers": ("tests.benchmarks.straight", "duckdb", "sqlglot"),
    "taking_in": ("pipeline.ingest.take", "duckdb"),
    "all_tables": ("pipeline.run", "duckdb", "sqlglot"),
    "reference": ("tests.benchmarks.reference_pandas",),
}
JOBS: dict[str, Callable[[Path, Path], dict[str, Any]]] = {
    job.__name__: job for job in (floor, deviations, taking_in, all_tables, same_numbers, whole_run, reference)
}


def main() -> None:
    """Runs one job and prints its line."""
    name, folder, out = sys.argv[1:]
    for module in LOADED.get(name, ()):
        importlib.import_module(module)
    started = time.perf_counter()
    found = JOBS[name](Path(folder), Path(out))
    seconds = time.perf_counter() - started
    print(json.dumps({"seconds": seconds, "peak_mib": peak_mib(), **found}))


if __name__ == "__main__":
    main()
