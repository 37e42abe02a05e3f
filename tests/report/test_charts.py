"""Every drawing is valid in both widths, draws nothing where there is nothing, and marks what it cannot show."""

import math
import re
from collections.abc import Callable
from typing import Any

import altair as alt
import pytest

from pipeline.report.charts.causes import avoidable_chart, limits_chart, ratio_chart
from pipeline.report.charts.flow import flow_chart
from pipeline.report.charts.intake import reasons_chart, recorded_chart
from pipeline.report.charts.layout import Label, RowLayout, doublings, linear_reach, log_reach, nothing_to_draw
from pipeline.report.charts.letter import steps_chart
from pipeline.report.charts.months import months_chart
from pipeline.report.charts.needed import needed_chart
from pipeline.report.charts.pairs import pairs_chart
from pipeline.report.charts.rates import MOST_CREWS, fair_chart, rate_chart, tally_chart
from pipeline.report.charts.steps import overview_chart, step_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.drawing.drawn import DESK
from pipeline.report.drawing.lettering import width
from pipeline.report.drawing.marks import OBLIQUE, ONWARD_RIGHT, Board, Dimension, dimension_lines
from pipeline.report.drawing.pencils import CHAIN, GREY, HATCH_OUT, HATCH_UNDECIDED, RED
from pipeline.report.numbers import Interval
from pipeline.report.rows.intake_rows import Reason
from pipeline.report.rows.table_rows import Tally
from tests.report.samples import (
    crew_rate,
    effect,
    limit_count,
    month_of,
    nothing,
    open_pair,
    recorded,
    weak_step,
)

EFFECTS = [effect(), effect(deviation="x", evidence="suggestive"), nothing(fault="draught"), open_pair(fault="noise")]
CREWS = [crew_rate("K1"), crew_rate("K7", (1.7, 1.4, 2.1), funnel="above")]
WEAK = [weak_step("K1", 0.15, 0.05), weak_step("K4", 0.31, 0.08)]
MONTHS = [month_of("2026-04"), month_of("2026-05", rate=None), month_of("2026-06", False)]
TALLIES = [Tally("installation", 9), Tally("use", 2)]

Chart = Callable[[bool], alt.LayerChart]
CHARTS: dict[str, tuple[Chart, Chart]] = {
    "avoidable": (lambda n: avoidable_chart(EFFECTS, n), lambda n: avoidable_chart([open_pair()], n)),
    "ratios": (lambda n: ratio_chart(EFFECTS, n), lambda n: ratio_chart([open_pair()], n)),
    "pairs": (lambda n: pairs_chart(EFFECTS, n), lambda n: pairs_chart([open_pair()], n)),
    "limits": (lambda n: limits_chart([limit_count()], n), lambda n: limits_chart([], n)),
    "flow": (
        lambda n: flow_chart(["survey", "sill", "frame"], EFFECTS[:2], n),
        lambda n: flow_chart(["sill"], [], n),
    ),
    "needed": (lambda n: needed_chart([open_pair(doors_needed=1500)], n), lambda n: needed_chart([], n)),
    "steps of the work": (
        lambda n: steps_chart(["survey", "sill"], EFFECTS, n),
        lambda n: steps_chart(["sill"], [], n),
    ),
    "one step": (lambda n: step_chart(WEAK, n), lambda n: step_chart([], n)),
    "overview": (lambda n: overview_chart({"sill": WEAK}, n), lambda n: overview_chart({}, n)),
    "rates": (lambda n: rate_chart(CREWS, 10.0, n), lambda n: rate_chart([], 0.0, n)),
    "fair": (lambda n: fair_chart(CREWS, n), lambda n: fair_chart([crew_rate("K1", None)], n)),
    "months": (lambda n: months_chart(MONTHS, 10.0, n), lambda n: months_chart([], None, n)),
    "tally": (lambda n: tally_chart(TALLIES, ("use",), "callbacks", n), lambda n: tally_chart([], (), "callbacks", n)),
    "recorded": (
        lambda n: recorded_chart([recorded("a", 90)], 0.2, n),
        lambda n: recorded_chart([recorded("a", 0)], 0.2, n),
    ),
    "reasons": (
        lambda n: reasons_chart([Reason("readings, value", "no number", 3)], n),
        lambda n: reasons_chart([], n),
    ),
}


def marks_of(spec: dict[str, Any]) -> list[str]:
    return [layer["mark"]["type"] for layer in spec["layer"]]


@pytest.mark.parametrize("is_narrow", [False, True])
@pytest.mark.parametrize("name", CHARTS)
def test_a_drawing_is_valid_in_both_widths(name, is_narrow):
    full, _ = CHARTS[name]
    spec = full(is_narrow).to_dict()  # raises where it breaks the chart grammar
    assert spec["width"] == (312 if is_narrow else DESK)
    assert len(spec["layer"]) > 1


@pytest.mark.parametrize("name", CHARTS)
def test_where_there_are_no_data_only_words_are_drawn(name):
    _, empty = CHARTS[name]
    assert set(marks_of(empty(False).to_dict())) == {"text"}


def test_words_in_place_of_a_drawing_are_wrapped_to_its_width():
    spec = nothing_to_draw("Too few doors with gaps over, under and beside a leaf.", True).to_dict()
    [placed] = spec["datasets"].values()
    assert len(placed) == 2
    assert all(width(line["words"]) <= spec["width"] for line in placed)
    assert spec["height"] > nothing_to_draw("Nothing to count.", True).to_dict()["height"]


def test_names_that_lean_over_the_columns_of_the_map_keep_to_it():
    names = (
        "roller damage",
        "a fault whose name is long",
        "dropped leaf",
        "binding",
        "draught",
        "uneven gaps",
        "noise",
    )
    effects = [effect(fault=f"f{n}", fault_words=words, events=90 - n) for n, words in enumerate(names[::-1])]
    for is_narrow in (True, False):
        spec = pairs_chart(effects, is_narrow).to_dict()
        heads = [layer for layer in spec["layer"] if layer["mark"].get("angle")]
        for head in heads:
            [placed] = spec["datasets"][head["data"]["name"]]
            end = head["encoding"]["x"]["value"] + width(placed["words"]) * math.cos(math.radians(55))
            assert end <= spec["width"] + 1
        assert len(heads) == len(names)


def test_an_interval_that_leaves_the_axis_ends_in_an_arrow_head():
    board = Board(720, 100, 300, 700, 0, 10, "callbacks")
    rows = [Dimension(2, 8, 5, 20), Dimension(2, 40, 5, 50)]
    [placed] = dimension_lines(board, rows)[0].to_dict()["datasets"].values()
    assert [row["high_end"] for row in placed] == [OBLIQUE, ONWARD_RIGHT]
    assert [row["high"] for row in placed] == [8, 10]


def test_a_limit_is_a_red_chain_line_and_what_lies_beyond_it_is_hatched():
    lines = [layer["mark"] for layer in recorded_chart([recorded("a", 90)], 0.2, False).to_dict()["layer"]]
    assert {"type": "rule", "strokeDash": CHAIN, "color": RED} in lines
    fills = re.findall(r"url\(#[\w-]+\)", str(limits_chart([limit_count()], False).to_dict()))
    assert set(fills) == {HATCH_OUT, HATCH_UNDECIDED}


def test_months_that_are_not_complete_are_hatched():
    assert HATCH_UNDECIDED in str(months_chart(MONTHS, 10.0, False).to_dict())
    assert HATCH_UNDECIDED not in str(months_chart(MONTHS[:2], 10.0, False).to_dict())


@pytest.mark.parametrize(("first", "years"), [("2022-12", ["2023", "2024"]), ("2022-06", ["2022", "2023", "2024"])])
def test_the_number_of_a_year_stands_only_where_it_has_room(first, years):
    months = [name for year in (2022, 2023, 2024) for month in range(1, 13) if (name := f"{year}-{month:02}") >= first]
    drawn = str(months_chart([month_of(name) for name in months[:24]], 10.0, False).to_dict())
    assert sorted(set(re.findall(r"'words': '(20\d\d)'", drawn))) == years


def test_crews_stand_from_most_to_least_watched_and_many_are_thinned_to_the_telling_ones():
    crews = [crew_rate(f"K{n}", door_years=500.0 - n) for n in range(60)]
    crews.append(crew_rate("far", (1.7, 1.4, 2.1), funnel="above", door_years=5.0))
    drawn = re.findall(r"'words': '(K\d+|far) ·", str(rate_chart(crews, 10.0, False).to_dict()))
    assert len(drawn) == MOST_CREWS
    assert drawn[:3] == ["K0", "K1", "K2"]
    assert drawn[-1] == "far"


def numbers_of(chart: alt.LayerChart) -> list[str]:
    return [number for number in re.findall(r"'number': '([^']*)'", str(chart.to_dict())) if number]


def test_every_number_of_a_figure_has_the_same_decimals():
    crews = [crew_rate("K1", (1.43, 1.2, 1.7)), crew_rate("K2", (0.96, 0.92, 1.0)), crew_rate("K3", (4.0, 1.8, 8.7))]
    assert {len(number.partition(".")[2]) for number in numbers_of(fair_chart(crews, False))} == {1}


def test_a_crew_that_is_not_told_apart_shows_the_line_that_holds_the_firm():
    # Its own doors clear the firm; what is to be expected of the next ones does not, and is drawn under it.
    elm = weak_step("Elm", 0.39, 0.11, firm=0.22, shrunk_share=0.277, shrunk_low=0.218, shrunk_high=0.339)
    assert elm.side == 0
    fir = weak_step("Fir", 0.2, 0.11, firm=0.22)
    own, expected, *_ = sorted(lines_of(step_chart([elm, fir], False)), key=lambda row: row["y"])
    assert own["pencil"] == expected["pencil"] == GREY
    assert expected["low"] < own["low"]
    [at_a_glance] = lines_of(overview_chart({"sill": [elm]}, False))
    assert at_a_glance["pencil"] == GREY


def test_one_crew_alone_is_not_set_against_itself():
    elm = weak_step("Elm", 0.39, 0.11, firm=0.39)
    assert len(lines_of(step_chart([elm], False))) == 1
    assert "firm 39" not in str(step_chart([elm], False).to_dict())


def lines_of(chart: alt.LayerChart) -> list[dict[str, Any]]:
    return [row for rows in chart.to_dict()["datasets"].values() for row in rows if "pencil" in row and "low" in row]


def test_at_a_glance_a_crew_stands_right_of_the_firm_where_it_is_more_often_out_and_bears_its_share():
    more, less = weak_step("K1", 0.6, 0.05, firm=0.4), weak_step("K2", 0.2, 0.05, firm=0.4)
    chart = overview_chart({"sill": [more, less]}, False)
    above, below = lines_of(chart)
    sets = [row for rows in chart.to_dict()["datasets"].values() for row in rows]
    [firm] = {row["x"] for row in sets if "x" in row}
    assert below["low"] < below["high"] < firm < above["low"] < above["high"]
    assert {"60", "20"} <= {row.get("words") for row in sets}


def test_one_wide_interval_does_not_press_the_others_flat():
    low, high = linear_reach([Interval(5, 3, 8), Interval(4, -900, 900)])
    assert -20 < low < 0 < 8 < high < 20
    assert log_reach([Interval(1, 0.001, 900)]) == pytest.approx((1 / 16 / 1.06, 16 * 1.06))
    assert doublings(0.4, 4.5) == (0.5, 1.0, 2.0, 4.0)


def test_rows_keep_apart_and_within_the_drawing():
    for is_narrow in (False, True):
        layout = RowLayout(tuple(Label(f"row {n}", "", "behind") for n in range(9)), is_narrow)
        assert layout.lines == sorted(layout.lines)
        assert layout.lines[-1] < layout.board(0, 1, "").height


@pytest.mark.parametrize("behind", ["", "behind"])
def test_on_a_phone_a_number_keeps_clear_of_the_words_above_it(behind):
    layout = RowLayout(tuple(Label(f"row {n}", "", behind) for n in range(3)), is_narrow=True)
    words = layout.words(layout.board(0, 1, ""))
    ys = [row["y"] for part in words for rows in part.to_dict()["datasets"].values() for row in rows]
    # Letters are 12 pixels high, and a number stands 11 above its line.
    assert all(abs((line - 11) - y) >= 14 for line in layout.lines for y in ys)


def test_a_drawing_is_named_and_its_ids_are_its_own():
    first, second = (draw(CHARTS["rates"][0], key, "A & B", "says <so>") for key in ("one", "two"))
    ids = [re.findall(r'id="([^"]+)"', first.wide + first.narrow), re.findall(r'id="([^"]+)"', second.wide)]
    assert len(set(ids[0])) == len(ids[0])
    assert not set(ids[0]) & set(ids[1])
    assert "<title id=" in first.wide
    assert "A &amp; B" in first.wide
    assert "says &lt;so&gt;" in first.wide
