"""Sentences beside the curves of risk: what a limit should be, no more than the interval says."""

from typing import Any

import pytest

from pipeline.report.charts.dose import dose_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.drawing.pencils import HATCH_OUT
from pipeline.report.rows.dose_rows import CurvePoint, LimitAdvice
from pipeline.report.words import dose
from tests.report.samples import effect

ADVICE: dict[str, Any] = {
    "fault": "stiff_running", "fault_words": "stiff running", "deviation": "sill_level_error",
    "words": "sill out of level", "unit": "mm", "worse": "higher", "evidence": "strong", "advice": "keep",
    "note": "where 1.5 times the risk begins is not known well enough to move it", "limit_now": 3.0,
    "limit_risk_1_5": 1.2, "limit_low": 1.128, "limit_high": 1.504, "limit_cost": None, "limit_cost_low": None,
    "limit_cost_high": None, "reference": 0.4, "data_end": 4.4, "limits_in_use": 1, "limit_share": 1.0,
    "share_beyond": 0.6, "rework_cost": 76.0, "is_usual_rework": True,
}  # fmt: skip


def advice(**changed: Any) -> LimitAdvice:
    return LimitAdvice(**(ADVICE | changed))


def points(
    rise: float = 1.3, knots: int = 3, values: tuple[float, ...] = (0.4, 1.4, 2.4, 3.4, 4.4)
) -> list[CurvePoint]:
    return [
        CurvePoint(
            "stiff_running", "sill_level_error", value, rise**k, rise**k / 1.2**k, rise**k * 1.2**k, 40 - k, 0.4, knots
        )
        for k, value in enumerate(values)
    ]


def test_the_caption_says_where_the_risk_is_reached_with_the_precision_of_a_rule() -> None:
    assert (
        dose.curve_says(advice())
        == "Stiff running with “sill out of level”: 1.5 times as often from 1.2 mm (1.1 to 1.5)"
    )
    wide = advice(unit="mm", limit_risk_1_5=412.4, limit_low=388.0, limit_high=441.0)
    assert "from 410 mm (390 to 440)" in dose.curve_says(wide)
    narrow = advice(limit_risk_1_5=1.212, limit_low=1.202, limit_high=1.222)
    assert "from 1.212 mm (1.202 to 1.222)" in dose.curve_says(narrow)


def test_an_open_end_is_said_and_none_is_made_up() -> None:
    assert "from 1.2 mm (1.1 to beyond the data)" in dose.curve_says(advice(limit_high=None))
    assert "is not reached within the data" in dose.curve_says(advice(limit_risk_1_5=None, limit_high=None))
    lower = advice(worse="lower", limit_low=None)
    assert "from 1.2 mm (beyond the data to 1.5) down" in dose.curve_says(lower)
    assert (
        dose.risk_words(advice(limit_risk_1_5=None, limit_low=2.2, limit_high=None)) == "beyond the data (from 2.2 mm)"
    )
    assert dose.risk_words(advice(limit_risk_1_5=None, limit_low=None, limit_high=None)) == "not within the data"
    none = advice(limit_risk_1_5=None, limit_low=None, limit_high=None, reference=None)
    assert dose.risk_words(none) == "no curve"


def test_tightening_names_the_doors_it_would_put_out_and_defers() -> None:
    said = dose.curve_do(advice(advice="tighten"))
    assert said.startswith(
        "Tighten from 3 mm, in steps: a limit at 1.5 times the risk, 1.2 mm (1.1 to 1.5), would put 60"
    )
    assert "In money alone no limit pays" in said
    assert "product's instructions" in said
    assert "In money alone" not in dose.curve_do(advice(advice="tighten", limit_cost=2.0))
    assert "In money alone" not in dose.curve_do(advice(advice="tighten", rework_cost=None))


def test_loosening_goes_no_farther_than_the_near_end_of_the_interval() -> None:
    said = dose.curve_do(advice(advice="loosen", limit_now=1.0, limit_low=2.18, limit_risk_1_5=2.6, limit_high=3.4))
    assert said.startswith("May be loosened from 1 mm up to 2.1 mm")
    assert "local codes" in said
    lower = advice(advice="loosen", worse="lower", limit_now=4.0, limit_low=1.0, limit_risk_1_5=2.0, limit_high=2.83)
    assert dose.curve_do(lower).startswith("May be loosened from 4 mm down to 2.9 mm")


def test_keeping_gives_its_reason_and_no_limit_is_no_limit() -> None:
    assert dose.curve_do(advice()) == (
        "Keep the limit: where 1.5 times the risk begins is not known well enough to move it."
    )
    assert dose.curve_do(advice(limit_now=None)) == "No limit is in use: consider one at 1.2 mm (1.1 to 1.5)."


def test_who_stands_behind_a_curve_and_what_it_says_at_the_limit() -> None:
    said = dose.curve_how(effect(), points(), advice(limit_now=2.4))
    assert said == (
        "65 first callbacks on 1,285 doors. At the limit in use, 2.4 mm, it comes back 1.7 times (1.2 to 2.4) as often."
    )
    several = dose.curve_how(effect(), points(), advice(limit_now=2.4, limits_in_use=9, limit_share=0.48))
    assert "(that of 48\N{NO-BREAK SPACE}% of these doors; others have another), it comes back" in several
    assert "lies outside what the doors show" in dose.curve_how(effect(), points(), advice(limit_now=9.0))
    assert "is where the better doors lie" in dose.curve_how(effect(), points(), advice(limit_now=0.4))
    assert "no more than a straight line" not in said
    assert "straight line" in dose.curve_how(effect(), points(knots=2), advice())


def test_the_heading_names_what_should_move() -> None:
    moved = [
        advice(advice="tighten"),
        advice(advice="tighten", fault="draught"),
        advice(advice="loosen", words="seals"),
    ]
    assert dose.section_says(moved, 3) == (
        "Limits that the records would move: tighten “sill out of level”; loosen “seals”"
    )
    assert dose.section_says([advice()], 1) == "Where risk begins: the records give no reason to move a limit"
    assert dose.section_says([], 0) == "Where risk begins cannot be drawn yet"
    assert "none yet" in dose.how_to_read(0, 0)[0]
    assert "the first 6 of 9" in dose.how_to_read(9, 6)[0]


def test_costs_are_told_with_what_they_were_taken_from() -> None:
    assert dose.cost_words(advice()) == "no limit pays"
    assert dose.cost_words(advice(rework_cost=None)) == "costs not known"
    assert dose.cost_words(advice(limit_cost=3.0, limit_cost_low=2.5, limit_cost_high=3.6)) == "3.0 mm (2.5 to 3.6)"
    assert dose.cost_words(advice(limit_cost=3.0, limit_cost_low=2.5)) == "3 mm, or none"
    assert dose.cost_words(advice(evidence="suggestive")) == ""
    usual = dose.advice_how([advice()], "GBP")
    assert "taken to cost GBP 76: hours usual in its step, common practice without a source" in usual
    assert "the firm's own figure." in dose.advice_how([advice(is_usual_rework=False)], "GBP")
    assert "taken to cost" not in dose.advice_how([advice(rework_cost=None)], "GBP")
    assert "licensed practice" in usual


@pytest.mark.parametrize("is_narrow", [False, True])
@pytest.mark.parametrize(
    "changed",
    [
        {},
        {"limit_now": None},
        {"limit_now": 99.0},
        {"limit_risk_1_5": None},
        {"limit_low": None, "limit_high": None},
        {"worse": "lower"},
    ],
)
def test_a_curve_is_drawn_whatever_is_open(changed: dict[str, Any], is_narrow: bool) -> None:
    chart = dose_chart(points(), advice(**changed), is_narrow)
    chart.to_dict(validate=True)
    drawing = draw(lambda narrow: dose_chart(points(), advice(**changed), narrow), "curve", "a curve", "says")
    drawn = str(drawing.narrow if is_narrow else drawing.wide)
    assert "NaN" not in drawn
    assert ("limit 3 mm" in drawn) == ("limit_now" not in changed)
    assert ("1.5 times: 1.2 mm" in drawn) == ("limit_risk_1_5" not in changed)


def test_doors_beyond_the_limit_are_hatched_on_the_side_that_is_worse() -> None:
    def hatched(**changed: Any) -> int:
        return str(dose_chart(points(), advice(**changed), False).to_dict()).count(HATCH_OUT)

    assert hatched(limit_now=3.0) == 2
    assert hatched(limit_now=3.0, worse="lower") == 3
    assert hatched(limit_now=None) == 0


def test_a_steep_curve_stays_on_its_sheet() -> None:
    drawn = dose_chart(points(rise=4.0), advice(), False).to_dict()
    rows = [row for layer in drawn["layer"] for row in drawn["datasets"][layer["data"]["name"]]]
    ratios = [row["y"] for row in rows if "y" in row]
    assert len(ratios) > 20
    assert min(ratios) >= 0
