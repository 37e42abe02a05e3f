"""The outlook on the owner's sheet: what it says, what it asks for, and that it never says more than it knows."""

from dataclasses import replace

import polars as pl
import pytest

from pipeline.report.charts.outlook import ahead_chart, back_chart
from pipeline.report.drawing.drawn import DESK
from pipeline.report.drawing.pencils import HATCH_UNDECIDED
from pipeline.report.numbers import Interval
from pipeline.report.rows.outlook_rows import Cohort, LookBack, MonthAhead, PaperMonth, Plan
from pipeline.report.words import outlook as words
from tests.report.invented_outlook import outlook_tables

TABLES = outlook_tables()
PLAN = Plan(45.0, 24.0, False, 1500)


def rows_of(kind: type, table: str) -> list:
    names = kind.__dataclass_fields__
    return [kind(**{name: row[name] for name in names}) for row in TABLES[table].iter_rows(named=True)]


AHEAD, PAPER = rows_of(MonthAhead, "outlook"), rows_of(PaperMonth, "late_paper")
LOOKS, COHORTS = rows_of(LookBack, "outlook_backtest"), rows_of(Cohort, "development")
NOTHING = [replace(row, callbacks=None, callbacks_low=None, callbacks_high=None) for row in AHEAD]


def test_the_answer_has_its_interval_its_months_and_its_cost():
    said = words.says(AHEAD, "EUR")
    assert said.startswith("430 (360 to 490) callbacks are to be expected in the twelve months from July 2026 to June")
    assert said.endswith("costing EUR 98,000 (82,000 to 117,000)")
    costless = [replace(row, cost=None) for row in AHEAD]
    assert "cost" not in words.says(costless, "EUR")
    assert "write labour_rate or callback_cost into fitback.toml" in " ".join(words.paragraphs(costless, PLAN, PAPER))


def test_work_to_come_is_told_or_asked_for():
    assert "320 of them from the doors already out, 110 from 45 planned doors a month." in _joined(AHEAD, PLAN)
    assert "write planned_doors_per_month into fitback.toml" in _joined(
        AHEAD, replace(PLAN, planned_doors_per_month=None)
    )
    assert "end of their 24 months of warranty" in _joined(AHEAD, replace(PLAN, log_ends_with_warranty=True))


@pytest.mark.parametrize(
    ("value", "whole", "shown"),
    [
        (508.9, Interval(716.0, 585.0, 873.0), "510"),  # told in tens, as the whole is
        (45.6, Interval(48.4, 32.0, 67.0), "46"),
        (2.8, Interval(716.0, 585.0, 873.0), "3"),  # some is not told as none
        (1.26, Interval(2.0, 1.2, 3.1), "1"),  # callbacks have no decimals
    ],
)
def test_a_part_is_told_as_coarsely_as_what_it_is_a_part_of(value, whole, shown):
    assert words.part(value, whole) == shown


def _joined(ahead: list[MonthAhead], plan: Plan, paper: list[PaperMonth] = PAPER) -> str:
    return " ".join(words.paragraphs(ahead, plan, paper))


def test_what_came_stands_beside_what_comes_of_the_same_kind():
    said = words.before(AHEAD, PAPER)
    came = sum(month.reported for month in PAPER[-12:])
    assert said.startswith(f"The twelve months before brought {came:,} callbacks that are on paper so far; about ")
    assert f"about {round(AHEAD[-1].from_doors_out, -1):,.0f} of those to come are from doors already out" in said
    assert said.endswith(f", {round(AHEAD[-1].from_planned, -1):,.0f} from doors still planned.")
    assert "planned" not in words.before([*AHEAD[:-1], replace(AHEAD[-1], from_planned=0.0)], PAPER)
    assert words.before(AHEAD, PAPER[-11:]) == words.before(NOTHING, PAPER) == words.before([], PAPER) == ""


def test_late_paper_is_told_and_where_it_is_not_known_that_is():
    said = _joined(AHEAD, PLAN)
    assert "complete to 12\N{NO-BREAK SPACE}May\N{NO-BREAK SPACE}2026" in said
    assert "Of June 2026, 21 callbacks are on paper; with what is on its way it comes to 28" in said
    unknown = [replace(month, is_corrected=False) for month in PAPER]
    assert "(logged_on) is not recorded" in _joined(AHEAD, PLAN, unknown)
    arrived = [replace(month, corrected_high=float(month.reported)) for month in PAPER]
    assert "Nothing to speak of is still on its way." in _joined(AHEAD, PLAN, arrived)


def test_looking_back_says_how_often_it_held_and_on_which_side_it_erred():
    assert words.back_says(LOOKS) == "Looking back from both earlier days, what came lay inside the interval"
    missed = [LOOKS[0], replace(LOOKS[1], is_inside=False)]
    assert words.back_says(missed).endswith(
        "one of two earlier days, what came lay inside the interval; from one it did not"
    )
    assert words.back_do(missed).startswith("One line in twenty misses by chance alone; where it was not chance")
    fewer = [replace(look, came=0.8 * look.callbacks) for look in [*LOOKS, LOOKS[0]]]
    assert (
        words.back_do(fewer)
        == "Each time fewer came than the middle of the line: plan with the lower half of the interval."
    )
    assert words.back_do(LOOKS) == "Plan with the whole interval, not with its middle."


def test_the_second_opinion_is_set_against_the_same_doors():
    assert "gives 290 (230 to 360) for the 1,200 doors handed over in the eight quarters" in _second(COHORTS)
    assert "the outlook for that part (80" in _second(COHORTS)
    assert _second(COHORTS).endswith("would be 260: they agree.")
    far = [*COHORTS[:-1], replace(COHORTS[-1], to_come=900.0, low=800.0, high=1000.0)]
    assert "they disagree" in _second(far)
    assert "too few callbacks or too short a log" in _second([])


def _second(cohorts: list[Cohort]) -> str:
    return words.second_opinion(cohorts, AHEAD[-1], PLAN)


def test_what_to_do_names_a_month_and_a_reserve():
    assert words.do(AHEAD, "EUR") == (
        "Plan service visits for 36 callbacks a month, and for up to 50 in a single one, and set aside "
        "EUR 117,000 to be safe."
    )
    assert words.do(NOTHING, "EUR") == ""


@pytest.mark.parametrize("is_narrow", [False, True])
def test_the_drawings_are_valid_and_empty_where_there_is_nothing(is_narrow):
    spec = ahead_chart(PAPER, AHEAD, is_narrow).to_dict()
    assert spec["width"] == (312 if is_narrow else DESK)
    assert any(layer["mark"].get("fill") == HATCH_UNDECIDED for layer in spec["layer"])
    assert len(back_chart(LOOKS, is_narrow).to_dict()["layer"]) > 4
    for empty in (ahead_chart(PAPER, NOTHING, is_narrow), back_chart([], is_narrow)):
        assert [layer["mark"]["type"] for layer in empty.to_dict()["layer"]] == ["text"]


def test_the_owners_sheet_shows_it_and_says_where_there_is_too_little(pages, make_page):
    assert "callbacks are to be expected in the twelve months" in pages["owner"]
    assert "What this outlook stands on" in pages["owner"]
    for table in ("outlook", "outlook_backtest", "late_paper", "development"):
        assert f'download="{table}.csv"' in pages["owner"]
    nulls = {name: pl.lit(None, pl.Float64).alias(name) for name in ("callbacks", "callbacks_low", "callbacks_high")}
    few = make_page("owner", outlook=TABLES["outlook"].with_columns(**nulls))
    assert "There is too little to foretell the next twelve months" in few
    assert "callbacks are to be expected" not in few
    short = make_page("owner", outlook_backtest=TABLES["outlook_backtest"].clear())
    assert "How this would have done cannot be shown yet" in short
