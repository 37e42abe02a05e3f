"""The file that a page offers: safe in a spreadsheet, the same when read back."""

from datetime import date

import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from pipeline.report.downloads import MOST_BYTES, as_csv, download


def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe():
    frame = pl.DataFrame({"crew": ["=1+1", "+x", "-x", "@x", "\tx", "\rx", "K4", None, ""]})
    cells = as_csv(frame).replace("\r", "CR").split("\n")[1:-1]
    assert [cell.strip('"')[:1] for cell in cells[:6]] == ["'"] * 6
    assert cells[6:8] == ["K4", ""]


def test_numbers_dates_and_truths_are_plain():
    frame = pl.DataFrame(
        {"a": [0.1, float("inf"), None], "b": [date(2026, 6, 30), None, None], "c": [True, False, None]}
    )
    assert as_csv(frame) == "a,b,c\n0.1,2026-06-30,true\n,,false\n,,\n"


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1))
def test_floats_read_back_the_same(values):
    read = [float(line) for line in as_csv(pl.DataFrame({"x": values})).splitlines()[1:]]
    assert read == values


def test_a_table_too_heavy_for_a_page_is_named_instead():
    heavy = pl.DataFrame({"text": ["x" * 1000] * (MOST_BYTES // 1000 + 1)})
    offered = download("effects", heavy)
    assert offered.href == ""
    assert offered.words == "All rows: tables/effects.csv beside these pages"
    assert download("effects", heavy.head(1)).href.startswith("data:text/csv;")
