"""What is said of first causes: counts as they are, the unexplained always, and why two orders differ."""

from dataclasses import replace

from pipeline.report.rows.first_cause_rows import FirstCause
from pipeline.report.words import first_causes as words
from tests.report.samples import effect, plain

TWIST = FirstCause(
    "jamb_twist", "frame twisted", "frame", "draught", 660, 59, 0.09, 0.06, 0.12, 0.05, 0.03, 0.08, 0.05, 2200.0, 600
)  # fmt: skip
TILT = replace(TWIST, deviation="sill_tilt_in", words="sill falls in", first=46, first_share=0.07, cost=8700.0)
NONE = replace(
    TWIST, deviation="unexplained", words="unexplained", step=None, first=300, first_share=0.45, first_low=0.42,
    first_high=0.51, share=0.59, share_low=0.5, share_high=0.67, cost=55_000.0,
)  # fmt: skip
FOUND = [TWIST, TILT, NONE]


def ranked(*names):
    """Strong effects with most to spare first."""
    return [
        effect(deviation=name, fault="draught", words=name.replace("_", " "), do=f"mend {name}", evidence="strong",
               avoidable_per_year=20.0 - n, avoidable_low=8.0, avoidable_high=30.0)
        for n, name in enumerate(names)
    ]  # fmt: skip


def test_the_first_cause_and_what_none_explains_are_said_together():
    assert words.says(FOUND) == (
        "First cause most often: frame twisted, in 59 of 660 callbacks; in 300 no cause accounts for a fifth"
    )
    assert "59 % (50 to 67) go with no cause that has evidence or that the trade expects" in plain(
        words.unexplained(FOUND)
    )


def test_where_no_cause_stands_first_none_is_named():
    said = words.says([replace(TWIST, first=0), replace(NONE, first=660)])
    assert said == "In none of 660 callbacks does a cause account for a fifth"


def test_the_dearest_cause_is_told_with_its_part_of_the_known_cost():
    assert plain(words.by_cost(FOUND, "GBP")) == (
        "By cost sill falls in comes first: GBP 8,700, 13 % of the known cost of 600 callbacks."
    )
    assert words.by_cost([replace(row, cost=None) for row in FOUND], "GBP") == ""


def test_two_orders_that_differ_are_explained_and_two_that_agree_are_not():
    assert words.why_orders_differ(FOUND, ranked("sill_tilt_in", "jamb_twist")) == words.WHY_ORDERS_DIFFER
    assert words.why_orders_differ(FOUND, ranked("jamb_twist", "sill_tilt_in")) == ""
    assert words.why_orders_differ(FOUND, ranked("jamb_twist")) == ""
    assert words.why_orders_differ(FOUND, []) == ""


def test_what_to_do_never_contradicts_the_figure_of_callbacks_spared():
    assert "“sill tilt in”: mend sill_tilt_in" in words.do(FOUND, ranked("sill_tilt_in", "jamb_twist"))
    assert words.do(FOUND, ranked("track_clean")).startswith("Begin by the figure of callbacks spared")
    assert words.do([NONE], ranked("track_clean")).startswith("Record more")


def test_a_cause_that_only_the_trade_expects_says_so_and_is_nothing_to_begin_with():
    expected = replace(TWIST, shown=0.02)
    assert words.name(TWIST) == "Frame twisted"
    assert words.name(expected) == "Frame twisted (expected only)"
    assert "frame twisted (expected only), in 59" in words.says([expected, NONE])
    assert words.do([expected, NONE], ranked("jamb_twist")).startswith("Record more")
