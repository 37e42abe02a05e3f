"""Numbers as a reader sees them: no more digits than the interval supports, and none that hides what it says."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.report.numbers import (
    Interval,
    as_name,
    bare_times,
    count,
    counted,
    cut_inside,
    day,
    interval,
    listed,
    money,
    moneys,
    month,
    natural,
    number,
    one_precision,
    percent,
    plain,
)


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ((18.93, 11.2, 27.4), "19 (11 to 27)"),
        ((10.809, 9.8, 11.91), "10.8 (9.8 to 11.9)"),
        ((3.1, 2.04, 4.71), "3.1 (2.0 to 4.7)"),
        ((1247.0, 1010.0, 1490.0), "1,250 (1,010 to 1,490)"),
        ((0.0, 0.0, 3.7), "0.0 (0.0 to 3.7)"),
        ((-2.31, -4.6, 0.2), "−2.3 (−4.6 to 0.2)"),
        ((5.0, 5.0, 5.0), "5.0 (5.0 to 5.0)"),
    ],
)
def test_an_interval_shows_the_digits_that_its_width_supports(parts, expected):
    assert Interval(*parts).words() == expected


def test_a_share_is_shown_in_per_cent():
    assert Interval(0.312, 0.23, 0.401).words(100, " %") == "31 % (23 to 40)"


def test_rounding_never_moves_an_end_onto_the_datum_it_clears():
    assert Interval(1.9, 1.004, 3.6, datum=1.0).words() == "1.900 (1.004 to 3.600)"
    assert Interval(1.9, 1.0003, 3.6, datum=1.0).words() == "1.9000 (1.0003 to 3.6000)"
    assert "(1.0000000000000002 to" in Interval(1.9, 1.0 + 2**-52, 3.6, datum=1.0).words()
    assert Interval(1.9, 0.996, 3.6, datum=1.0).words() == "1.9 (1.0 to 3.6)"


def test_how_far_beyond_a_hundred_times_is_not_told():
    """Where nearly all doors with it come back and no others, the data bound the ratio on one side only."""
    assert Interval(11_217.4, 1_768.9, 71_135.3, datum=1.0).words(unit=" times") == "over 100 times"
    assert Interval(56.8, 23.2, 139.0, datum=1.0).words(unit=" times") == "60 times (20 to over 100)"
    assert Interval(11_217.4, 1_768.9, 71_135.3).words() == "11,200 (1,800 to 71,100)"


def test_the_side_is_that_of_the_whole_interval():
    assert [Interval(2, low, high, datum=1.0).side for low, high in [(1.1, 3), (0.9, 3), (0.2, 0.9), (1.0, 3)]] == [
        1,
        0,
        -1,
        0,
    ]
    assert Interval(2, 1, 3).side == 0


def test_a_wide_interval_does_not_tell_an_end_as_nothing_that_is_not():
    assert Interval(37.2, 4.5, 134.5).words() == "37 (4 to 134)"
    assert Interval(300.0, 40.0, 700.0).words() == "300 (40 to 700)"
    assert Interval(300.0, 0.0, 700.0).words() == "300 (0 to 700)"


@given(st.floats(-1e4, 1e4), st.floats(0, 1e4), st.floats(0, 1e4), st.sampled_from([0.0, 1.0]))
def test_the_words_hold_their_order_and_keep_the_side(estimate, below, above, datum):
    shown = Interval(estimate, estimate - below, estimate + above, datum)
    ends = shown.words().split("(")[-1].removesuffix(")").removeprefix("over ").split(" to ")
    low, high = (float(ends[end].removeprefix("over ").replace(",", "").replace("−", "-")) for end in (0, -1))
    assert low <= high
    if shown.side > 0 and shown.low - datum > 1e-15:
        assert low > datum
    if shown.side < 0 and datum - shown.high > 1e-15:
        assert high < datum


@pytest.mark.parametrize("parts", [(None, 1.0, 2.0), (1.0, float("nan"), 2.0), (1.0, 0.0, float("inf"))])
def test_no_interval_is_claimed_where_a_part_is_missing(parts):
    assert interval(*parts) is None


def test_a_drawn_number_is_the_one_in_the_words():
    for shown in (Interval(19.2, 14, 24), Interval(2.64, 2.4, 2.9), Interval(7.5, 3, 12)):
        assert shown.words().startswith(f"{shown.middle()} (")


@pytest.mark.parametrize(
    ("share", "expected"),
    [(0.312, "31 %"), (0.004, "under 1 %"), (0.996, "over 99 %"), (0.0, "0 %"), (1.0, "100 %"), (None, "not known")],
)
def test_a_share_without_interval_is_never_rounded_to_none_or_all(share, expected):
    assert percent(share).replace("\N{NO-BREAK SPACE}", " ") == expected


def test_counts_and_words_agree():
    assert (counted(1, "door"), counted(0, "door"), counted(1512, "door")) == ("1 door", "0 doors", "1,512 doors")
    assert count(None) == "not known"


def test_sums_that_stand_together_have_one_precision_and_none_is_rounded_to_nothing():
    assert moneys([92_310.0, 12_840.0, 7_420.0], "GBP") == ["GBP 92,000", "GBP 13,000", "GBP 7,000"]
    assert moneys([300.4, 139.6, 88.2], "GBP") == ["GBP 300", "GBP 140", "GBP 90"]
    assert moneys([92_310.0, 41.0, 0.0, None], None) == ["92,000", "41", "0", "not known"]
    assert moneys([], "GBP") == []


def test_money_shows_two_digits_and_the_currency():
    assert money(120_345.0, "EUR") == "EUR 120,000"
    assert money(7.4, None) == "7"
    assert money(None, "EUR") == money(float("nan"), "EUR") == "not known"


def test_values_without_interval():
    assert (plain(0.04321), plain(4321.0), plain(0.0), plain(float("nan"))) == ("0.0432", "4,321", "0", "not known")
    assert (number(-0.2), number(-3.0)) == ("0", "−3")


def test_days_and_months_do_not_depend_on_the_machine():
    assert day(date(2026, 6, 30)).replace("\N{NO-BREAK SPACE}", " ") == "30 June 2026"
    assert (day(None), month("2026-01")) == ("not known", "January 2026")


def test_lists_read_as_words():
    assert [listed(list("abcde")[:n]) for n in range(6)] == [
        "",
        "a",
        "a and b",
        "a, b and c",
        "a, b, c and d",
        "a, b, c and 2 more",
    ]


def test_a_name_is_one_line_of_visible_text():
    assert as_name("Crew\n A \u202eevil\x00 ") == "Crew A evil"
    assert as_name(None) == ""


def test_a_long_name_keeps_its_beginning_and_its_end():
    assert cut_inside("Crew Ash", 20) == "Crew Ash"
    same = "the fitters of the northern district, van "
    one, other = (cut_inside(same + number, 20) for number in ("one", "two"))
    assert one != other
    assert len(one) <= 20
    assert one.startswith("the fitters")
    assert one.endswith("one")
    assert cut_inside(None, 5) == ""


def test_names_sort_as_people_count():
    assert sorted(["K10", "K2", "k1", "Anna", "7"], key=natural) == ["7", "Anna", "k1", "K2", "K10"]


def test_the_numbers_of_one_figure_share_their_precision():
    intervals = [Interval(4.1, 2.6, 6.4), Interval(4.0, 1.8, 8.7), Interval(3.02, 1.6, 5.6), Interval(1.43, 1.2, 1.7)]
    assert len({part.decimals() for part in intervals}) > 1
    digits = one_precision(intervals)
    assert [number(part.estimate, digits) for part in intervals] == ["4.1", "4.0", "3.0", "1.4"]
    assert one_precision([Interval(0.31, 0.23, 0.4)], 100) == 0
    assert one_precision([]) == 0


def test_a_ratio_without_an_interval_is_told_no_further_than_a_hundred_either_way() -> None:
    told = [bare_times(ratio) for ratio in (1.234, 99.0, 983.0, 0.97, 1e-12)]
    assert told == ["1.2 times", "99 times", "over 100 times", "0.97 times", "under 0.01 times"]
