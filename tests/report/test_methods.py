"""The methods sheet: what holds in every way of looking, what does not, and how much could be unrecorded."""

import numpy as np
import polars as pl

from tests.report.invented import effects
from tests.report.other_ways import blurs, other_ways


def ways() -> pl.DataFrame:
    return other_ways(effects(np.random.default_rng(7)))


def test_a_finding_that_turns_in_one_way_is_named_with_the_way(pages):
    page = pages["methods"]
    assert "Four of 5 findings hold in every other way of looking; one does not." in page
    assert "(without records in doubt)" in page


def test_too_few_left_is_told_apart_from_what_does_not_hold(make_pages):
    last = (pl.col("what") == "without records in doubt") & (pl.col("verdict") == "turns")
    gone = ways().with_columns(verdict=pl.when(last).then(pl.lit("too_few")).otherwise("verdict"))
    page = make_pages(effect_sensitivity=gone)["methods"]
    assert "Four of 5 findings hold in every other way of looking; too few are left to tell of one." in page
    assert "one cannot be told in some of the ways" in page


def test_what_holds_in_every_way_is_said_to(make_pages):
    held = ways().with_columns(verdict=pl.when(pl.col("verdict").is_not_null()).then(pl.lit("holds")))
    page = make_pages(effect_sensitivity=held)["methods"]
    assert "All five findings hold in every other way of looking that was tried." in page
    assert "No finding loses its direction or its certainty" in page


def test_the_letter_and_the_sheet_say_the_same_and_a_new_firm_is_told_so(pages, few_pages):
    assert "Four of 5 findings hold in every other way" in pages["index"]
    assert "Nothing is claimed yet" in few_pages["methods"]


def test_what_could_be_unrecorded_is_said_with_its_interval(pages):
    assert "3.4 times as often (1.9 to move the interval alone)" in pages["methods"]


def test_what_the_instruments_hide_is_told(pages, make_pages, few_pages):
    assert "The instrument cannot tell how strong it is: " in pages["methods"]
    assert ">50 %<" in pages["methods"].replace("\N{NO-BREAK SPACE}", " ")
    known = blurs(effects(np.random.default_rng(7))).with_columns(verdict=pl.lit("corrected"))
    assert "What the instruments hide: known for 2 of 5 findings" in make_pages(instrument_blur=known)["methods"]
    rounding = known.with_columns(verdict=pl.lit("corrected for rounding only"))
    told = make_pages(instrument_blur=rounding)["methods"]
    assert "known only as far as rounding goes, for 2 of 5 findings: have some doors read twice" in told
    assert "instruments hide" not in few_pages["methods"]
