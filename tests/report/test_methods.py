"""The methods sheet: what holds in every way of looking, what does not, and how much could be unrecorded."""

from dataclasses import replace

import numpy as np
import polars as pl

from pipeline.report.rows.method_rows import OtherWay
from pipeline.report.words import methods as words
from tests.report.invented import effects
from tests.report.other_ways import blurs, other_ways

WAY = OtherWay(
    "woe_1", "woe", "gizmo", "gizmo", "strong", "as reported", 900, 40, 2.0, 1.5, 2.6, None, None, None, 3.0, 2.0, None
)  # fmt: skip


def ways() -> pl.DataFrame:
    return other_ways(effects(np.random.default_rng(7)))


def test_a_finding_that_turns_in_one_way_is_named_with_the_way(pages):
    page = pages["methods"]
    assert "Four of 5 findings hold in every other way of looking; one does not." in page
    assert "(without records in doubt)" in page


def test_too_few_left_is_told_apart_from_what_does_not_hold(make_page):
    last = (pl.col("what") == "without records in doubt") & (pl.col("verdict") == "turns")
    gone = ways().with_columns(verdict=pl.when(last).then(pl.lit("too_few")).otherwise("verdict"))
    page = make_page("methods", effect_sensitivity=gone)
    assert "Four of 5 findings hold in every other way of looking; too few are left to tell of one." in page
    assert "one cannot be told in some of the ways" in page


def test_what_holds_in_every_way_is_said_to(make_page):
    held = ways().with_columns(verdict=pl.when(pl.col("verdict").is_not_null()).then(pl.lit("holds")))
    page = make_page("methods", effect_sensitivity=held)
    assert "All five findings hold in every other way of looking that was tried." in page
    assert "No finding loses its direction or its certainty" in page


def test_of_many_findings_those_in_doubt_are_drawn_and_the_figure_says_so():
    many = [WAY]
    for number in range(2, 21):
        verdict = "weaker" if number == 20 else "holds"
        finding = replace(WAY, fault=f"woe_{number}")
        many += [finding, replace(finding, what="until the first visit", verdict=verdict)]
    drawn = words.drawn(many)
    assert [way.fault for way in drawn if way.is_as_reported] == [f"woe_{n}" for n in (*range(1, 16), 20)]
    assert [way.verdict for way in drawn if way.fault == "woe_20"] == [None, "weaker"]
    assert "Drawn are 16 of 20 findings" in words.more(many)
    assert (words.drawn(drawn), words.more(drawn)) == (drawn, "")


def test_the_letter_and_the_sheet_say_the_same_and_a_new_firm_is_told_so(pages, few_pages):
    assert "Four of 5 findings hold in every other way" in pages["index"]
    assert "Nothing is claimed yet" in few_pages["methods"]


def test_what_could_be_unrecorded_is_said_with_its_interval(pages):
    assert "1.9 times as often to move its interval to no effect, 3.4 times to explain all of it" in pages["methods"]


def test_what_the_instruments_hide_is_told(pages, make_page, few_pages):
    assert "The instrument cannot tell how strong it is: " in pages["methods"]
    assert ">50 %<" in pages["methods"].replace("\N{NO-BREAK SPACE}", " ")
    known = blurs(effects(np.random.default_rng(7))).with_columns(verdict=pl.lit("corrected"))
    assert "What the instruments hide: known for 2 of 5 findings" in make_page("methods", instrument_blur=known)
    rounding = known.with_columns(verdict=pl.lit("corrected for rounding only"))
    told = make_page("methods", instrument_blur=rounding)
    assert "known only as far as rounding goes, for 2 of 5 findings: have some doors read twice" in told
    assert "instruments hide" not in few_pages["methods"]
