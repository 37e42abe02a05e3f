"""Writes the invented firm's files: `python -m pipeline.demo.make [FOLDER]`, by default `data/demo` of this clone.

The same bytes every time, on one version of the libraries.
"""

import sys
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.demo.files import clone_folder
from pipeline.demo.habits import Habits
from pipeline.demo.mess import messy_records
from pipeline.demo.sheets import write_sheet
from pipeline.demo.simulate import Firm, simulate

SHEET_MONTH = "2024-09"
HABITS = Habits(
    centimetres="Crew Birch",
    inches="Crew Cedar",
    degrees="Crew Elm",
    turns="Crew Hazel",
    rounds_to_mm="Crew Fir",
    copies="Crew Cherry",
)
README = """# An invented firm

Everything in this folder is invented: the firm, its crews, customers, addresses, doors, readings and callbacks. Nobody
and nothing real is meant. The files were written by `python -m pipeline.demo.make`, a simulator that knows what causes
what; they are as untidy as such records are, so that a run has something to set aside.

Ten crews fitted some 1,500 folding doors. One crew joined late, one writes down what others leave out, one copies
readings, one rounds them; units differ from crew to crew.
"""
SETTINGS = """# An invented firm: nothing in this folder is real.
firm = "Example Folding Doors (an invented firm)"
currency = "GBP"
as_of = 2025-06-30
callbacks_from = 2023-01-01     # first day the callback log is complete
warranty_months = 24
labour_rate = 38.0              # an hour
callback_cost = 95.0            # where a row has neither cost nor hours
planned_doors_per_month = 60

[[limit]]
name = "seal compression"
deviation = "seal_compression_low"
low = 1.0
source = "the invented firm's own instruction"
"""


def demo_firm() -> Firm:
    """The invented firm, before anybody wrote it down."""
    return simulate(
        doors=1500,
        crews=10,
        seed=2043,
        years=2.7,
        ends_on=date(2025, 6, 30),
        callbacks_per_door=0.6,
        young_share=0.15,
        young_factor=1.25,
        weak_factor=1.35,
        crew_frailty=0.1,
        site_frailty=0.2,
        season=0.4,
        late_paper=True,
        recorded=0.8,
        sections=SECTIONS,
        leaves_out_bad=0.15,
        blank_responsibility=0.25,
        trainings=5,
        training_factor=0.7,
        trains_weak=True,
    )


SECTIONS = {
    "aperture": 0.35, "jambs": 0.7, "sill across": 0.6, "sill line": 0.1, "fixings": 0.1, "perimeter": 0.4,
    "gaps": 0.5, "hinges": 0.15, "leaves": 0.5, "seals": 0.45, "running": 0.3, "checks": 0.62,
}  # fmt: skip


def write_demo(folder: Path) -> None:
    """All files of the invented firm in `folder`; what stood there under these names is replaced."""
    folder.mkdir(parents=True, exist_ok=True)
    records = messy_records(demo_firm(), HABITS)
    _by_period(records["readings"], "readings", _months(records), folder)
    for record, day in (("installs", "fitted_on"), ("checks", "checked_on"), ("callbacks", "reported_on")):
        _by_period(records[record], record, records[record][day].str.slice(0, 4), folder)
    for record in ("crews", "training", "instruments"):
        records[record].write_csv(folder / f"{record}.csv")
    (folder / "fitback.toml").write_text(SETTINGS, encoding="utf-8", newline="\n")
    (folder / "README.md").write_text(README, encoding="utf-8", newline="\n")


def _months(records: dict[str, pl.DataFrame]) -> pl.Series:
    """The month in which each reading was handed in: the one of the fitting, whatever the row itself says."""
    fitted = records["installs"].unique("install_id", keep="first").select("install_id", "fitted_on")
    months = records["readings"].join(fitted, on="install_id", how="left", maintain_order="left")
    return months["fitted_on"].str.slice(0, 7)


def _by_period(table: pl.DataFrame, record: str, period: pl.Series, folder: Path) -> None:
    """One file a period; rows whose period cannot be read go into the last."""
    is_known = period.str.contains(r"^202[2-5](-(0[1-9]|1[0-2]))?$").fill_null(value=False)
    known = period.set(~is_known, None)
    known = known.fill_null(known.max())
    for name in known.unique().sort():
        rows = table.filter(known == name)
        if record == "readings" and name == SHEET_MONTH:
            write_sheet(rows, folder / f"{record} {name}.xlsx")
        else:
            rows.write_csv(folder / f"{record} {name}.csv")


def main() -> None:
    """Writes into the folder named, else into this clone's data/demo."""
    clone = clone_folder()
    if len(sys.argv) > 1:
        write_demo(Path(sys.argv[1]))
    elif clone is not None:
        write_demo(clone / "data" / "demo")
    else:
        sys.exit("This is no clone: name the folder to write into.")


if __name__ == "__main__":
    main()
