"""Whatever is written in one hand comes in as what was meant, or is set aside; never as another value."""

from datetime import date, timedelta
from decimal import Decimal

import polars as pl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pipeline.catalogue import load_catalogue
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.records import CALLBACKS, INSTALLS, READINGS
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.numbers import read_number

LAST_DAY = date(2026, 3, 1)
CATALOGUE = load_catalogue()
JUDGE = Judge(READINGS, CATALOGUE, LAST_DAY)
CALLBACK_JUDGE = Judge(CALLBACKS, CATALOGUE, LAST_DAY)
INSTALL_JUDGE = Judge(INSTALLS, CATALOGUE, LAST_DAY)
few = settings(max_examples=50, deadline=None)


def grouped(number: Decimal, mark: str, group: str) -> str:
    whole, _, decimals = f"{abs(number):,f}".partition(".")
    text = whole.replace(",", group) + (mark + decimals if decimals else "")
    return f"-{text}" if number < 0 else text


NUMBER_STYLES = {
    "decimal point": lambda n: f"{n:f}",
    "decimal comma": lambda n: f"{n:f}".replace(".", ","),
    "comma between thousands": lambda n: grouped(n, ".", ","),
    "point between thousands": lambda n: grouped(n, ",", "."),
    "small space, point": lambda n: grouped(n, ".", "\u202f"),
    "small space, comma": lambda n: grouped(n, ",", "\u00a0"),
    "a true minus": lambda n: f"{n:f}".replace("-", "\u2212"),
    "a sign before all": lambda n: f"{n:+f}",
    "unit behind": lambda n: f"{n:f} mm",
    "unit at it, comma": lambda n: f"{n:f}mm".replace(".", ","),
    "unit, thousands": lambda n: f"{grouped(n, '.', ',')} mm",
}
numbers = (
    st.integers(0, 3)
    .flatmap(lambda places: st.integers(-(10**7), 10**7).map(lambda digits: Decimal(digits).scaleb(-places)))
    .filter(lambda number: abs(number) <= 20_000)
)
# Written with three decimals, or with a separator of thousands, these show nothing of what their marks mean.
doubtful = st.one_of(
    st.integers(1_000, 999_999).map(lambda digits: Decimal(digits).scaleb(-3)), st.integers(1_000, 19_999).map(Decimal)
)
columns = st.one_of(st.lists(numbers, min_size=1, max_size=12), st.lists(doubtful, min_size=1, max_size=4))


def readings(texts: list[str], unit: str = "mm", measure: str = "sill_height") -> pl.DataFrame:
    rows = range(2, len(texts) + 2)
    same = {"install_id": "D1", "measure": measure, "unit": unit}
    return pl.DataFrame({"row": rows, "value": texts}).with_columns(
        pl.lit(text).alias(name) for name, text in same.items()
    )


def came_in(texts: list[str], unit: str = "mm", measure: str = "sill_height") -> dict[int, float]:
    """Values by place in the list; what was set aside is not among them."""
    judged = JUDGE(readings(texts, unit, measure))
    assert judged.rows.height + judged.problems.filter(pl.col("scope") == "row").height == len(texts)
    assert judged.problems["reason"].str.contains(";").all(), "every sentence says what to do"
    return {row - 2: value for row, value in judged.rows.select("row", "value").rows()}


@few
@given(columns, st.sampled_from(sorted(NUMBER_STYLES)))
@example([Decimal("1.234")], "decimal comma")
@example([Decimal(1234)], "comma between thousands")
def test_numbers_written_in_one_hand_are_never_read_as_others(meant, style):
    found = came_in([NUMBER_STYLES[style](number) for number in meant])
    for place, value in found.items():
        assert value == pytest.approx(float(meant[place]), abs=1e-9)


@few
@given(columns, st.sampled_from(sorted(NUMBER_STYLES)))
def test_one_number_that_shows_its_marks_brings_the_whole_column_in(meant, style):
    shows = Decimal("1.5")
    found = came_in([NUMBER_STYLES[style](number) for number in [shows, *meant]])
    # a text such as 1.000 in the style of the point is no other number to anyone
    assert len(found) == len(meant) + 1


@few
@given(st.integers(0, 19), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.booleans())
def test_fractions_of_an_inch(whole, above, below, is_negative):
    above %= below
    sign = "-" if is_negative else ""
    text = f'{sign}{whole} {above}/{below}"' if whole and above else f'{sign}{whole}"'
    if above and not whole:
        text = f"{sign}{above}/{below} in"
    expected = (whole + above / below) * 25.4 * (-1 if is_negative else 1)
    assert came_in([text], unit="in")[0] == pytest.approx(expected, abs=1e-9)
    assert came_in([text], unit="mm") == {}


DATE_STYLES = {
    "iso": "{d:%Y-%m-%d}",
    "eight digits": "{d:%Y%m%d}",
    "year first, points": "{d:%Y.%m.%d}",
    "day first": "{d:%d/%m/%Y}",
    "day first, no zeros": "{d.day}.{d.month}.{d.year}",
    "month first": "{d:%m/%d/%Y}",
    "day first, short year": "{d:%d/%m/%y}",
    "day first, short year, hyphens": "{d:%d-%m-%y}",
    "month first, short year": "{d.month}/{d.day}/{d:%y}",
    "year first, short year": "{d:%y-%m-%d}",
    "day and time": "{d:%d/%m/%Y} 14:05",
}
days = st.dates(date(2001, 1, 1), LAST_DAY)
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip


def days_in(texts: list[str]) -> dict[int, date]:
    frame = pl.DataFrame({"row": range(2, len(texts) + 2), "reported_on": texts}).with_columns(
        pl.format("C{}", "row").alias("callback_id")
    )
    judged = CALLBACK_JUDGE(frame)
    assert judged.rows.height + judged.problems.height == len(texts)
    return {row - 2: day for row, day in judged.rows.select("row", "reported_on").rows()}


@few
@given(st.lists(days, min_size=1, max_size=12), st.sampled_from(sorted(DATE_STYLES)))
@example([date(2025, 2, 3)], "day first")
@example([date(2025, 2, 3)], "month first")
@example([date(2024, 2, 3)], "day first, short year")
@example([date(2024, 2, 3)], "year first, short year")
def test_days_written_in_one_hand_are_never_read_as_others(meant, style):
    found = days_in([DATE_STYLES[style].format(d=day) for day in meant])
    assert found == {place: meant[place] for place in found}


@few
@given(st.lists(days, min_size=1, max_size=12), st.sampled_from([s for s in DATE_STYLES if "short" not in s]))
def test_a_day_past_the_12th_brings_the_whole_column_in(meant, style):
    found = days_in([DATE_STYLES[style].format(d=day) for day in [date(2025, 1, 31), *meant]])
    assert len(found) == len(meant) + 1


@few
@given(
    days, st.sampled_from(["{d} {m} {y}", "{m} {d}, {y}", "{d}-{b}-{y}", "{d}-{b}-{s}", "{y} {b} {d}", "{d}th {m} {y}"])
)
def test_a_month_by_its_name_leaves_no_doubt(day, form):
    month = MONTHS[day.month - 1]
    text = form.format(d=day.day, m=month, b=month[:3], y=day.year, s=f"{day.year % 100:02d}")
    assert days_in([text, text.upper(), text.lower()]) == {0: day, 1: day, 2: day}


@few
@given(days)
def test_a_weekday_beside_a_date_has_to_agree(day):
    names = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
    text = f"{day.day} {MONTHS[day.month - 1]} {day.year}"
    right, wrong = names[day.weekday()], names[(day + timedelta(days=1)).weekday()]
    assert days_in([f"{right} {text}", f"{right[:3]}, {text}", f"{wrong} {text}"]) == {0: day, 1: day}


@few
@given(st.text(max_size=12))
def test_any_text_at_all_is_judged(text):
    number, problem = read_number(text)
    assert (number is None) == (problem is not None)
    assert len(came_in([text])) <= 1
    assert len(days_in([text])) <= 1


@few
@given(st.integers(200, 30_000), st.sampled_from([("mm", 1), ("cm", 10), ("m", 1000)]))
def test_a_width_in_any_unit_is_never_another_width(width, unit):
    name, factor = unit
    plain = f"{Decimal(width) / factor:f}"
    frame = pl.DataFrame({"row": 2, "install_id": "D1", "crew": "A", "fitted_on": "2025-01-10", "width_mm": plain})
    # as under the bare heading `width`: read only where no other unit is plausible
    (unsaid,) = INSTALL_JUDGE(frame, Manners(units={"width_mm": ""})).rows["width_mm"]
    assert unsaid is None or unsaid == pytest.approx(width, abs=1e-9)
    (said,) = INSTALL_JUDGE(frame.with_columns(width_mm=pl.lit(f"{plain} {name}"))).rows["width_mm"]
    assert said == pytest.approx(width, abs=1e-9)
    (headed,) = INSTALL_JUDGE(frame, Manners(units={"width_mm": name})).rows["width_mm"]
    assert headed == pytest.approx(width, abs=1e-9)
