"""Where risk begins and what to do with a limit: sentences beside each curve, computed from the tables."""

from collections.abc import Sequence
from math import ceil, floor

from pipeline.report.numbers import Interval, as_name, capital, count, counted, listed, money, number, percent, plain
from pipeline.report.rows.dose_rows import RISK, CurvePoint, LimitAdvice
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words.common import few_in_words, sentence

COARSE = 100  # from here on tenths are not read
SEVERAL = 0.9  # a limit that fewer doors share is said to be one of several


def section_says(advice: list[LimitAdvice], n_drawn: int) -> str:
    """Heading of the section: what should change."""
    tighten, loosen = (_names(advice, word) for word in ("tighten", "loosen"))
    parts = [f"{word} {listed(names, 3)}" for word, names in (("tighten", tighten), ("loosen", loosen)) if names]
    if parts:
        return f"Limits that the records would move: {'; '.join(parts)}"
    if n_drawn:
        return "Where risk begins: the records give no reason to move a limit"
    return "Where risk begins cannot be drawn yet"


def _names(advice: list[LimitAdvice], word: str) -> list[str]:
    return list(dict.fromkeys(f"“{as_name(row.words)}”" for row in advice if row.advice == word))


def how_to_read(n_strong: int, n_drawn: int) -> list[str]:
    """How the curves are read, or why there is none."""
    if not n_drawn:
        return [
            "A curve is drawn for every measured cause with strong evidence; there is none yet. Checks, passed or "
            "failed, have no curve."
        ]
    more = f" Drawn are the first {count(n_drawn)} of {count(n_strong)}." if n_strong > n_drawn else ""
    return [
        "Each line tells how many times as often the fault comes back as on doors at the better end, within one crew "
        "and with earlier steps alike; the grey band is the 95 % interval at each value. Nothing is drawn where there "
        "are no doors, nor in the outer 2.5 % at each end. The bars count the doors, those beyond the limit hatched in "
        f"red.{more}",
        f"What runs off the top goes on in the table. The blue line is where the risk is {RISK} times, with its 95 % "
        "interval; an arrow runs on beyond the data. A limit is only called too loose or too tight where the whole "
        "blue line lies on one side of it.",
    ]


def on_paper(n_drawn: int, n_printed: int) -> str:
    """What paper says of the curves that it leaves out; empty where it has all of them."""
    if n_drawn <= n_printed:
        return ""
    some, every = few_in_words(n_printed), few_in_words(n_drawn)
    return f"On paper stand the first {some} of {every} curves; the page on a screen has all."


def curve_says(row: LimitAdvice) -> str:
    """Caption of one curve: where the risk begins."""
    fault, words = capital(as_name(row.fault_words)), f"“{as_name(row.words)}”"
    if row.limit_risk_1_5 is None:
        return f"{fault} with {words}: {RISK} times as often is not reached within the data"
    return f"{fault} with {words}: {RISK} times as often from {_place(row)}{' down' if row.is_lower_worse else ''}"


def _place(row: LimitAdvice) -> str:
    """`1.1 mm (0.8 to 3.0)`, with no more digits than its interval supports; an open end is said."""
    known = row.at_risk
    if known is not None:
        return _readable(known, row)
    best = _open_end(row.limit_risk_1_5, row) + row.told_in[1]
    low, high = (_open_end(end, row) if end is not None else "" for end in (row.limit_low, row.limit_high))
    if low:
        return f"{best} ({low} to beyond the data)"
    return f"{best} (beyond the data to {high})" if high else f"{best} (no end within the data)"


def _open_end(value: float | None, row: LimitAdvice) -> str:
    """A value whose interval is open, to a tenth as a rule is read, and beyond COARSE to whole ones."""
    if value is None:
        return plain(None)
    told = value * row.told_in[0]
    return number(told, 1 if abs(told) < COARSE else 0)


def _readable(at: Interval, row: LimitAdvice) -> str:
    """The value with its interval, no finer than a rule is read unless the ends would fall together."""
    scale, unit = row.told_in
    told = at.scaled(scale)
    digits = told.decimals()
    if digits > 1 and round(told.low, 1) < round(told.high, 1):
        digits = 1
    return f"{number(told.estimate, digits)}{unit} ({number(told.low, digits)} to {number(told.high, digits)})"


def curve_how(effect: Effect | None, points: Sequence[CurvePoint], row: LimitAdvice) -> str:
    """Who stands behind a curve, and what it says at the limit in use."""
    who = f"{counted(effect.events, 'first callback')} on {counted(effect.doors, 'door')}. " if effect else ""
    shape = "" if points[0].knots > 2 else " The doors share too few values for more than a straight line."
    return f"{who}{sentence(_at_the_limit(points, row))}{shape}"


def _at_the_limit(points: Sequence[CurvePoint], row: LimitAdvice) -> str:
    limit = row.limit_now
    if limit is None:
        return "no limit is in use on most doors"
    shared = ""
    if (row.limits_in_use or 0) > 1 and (row.limit_share or 0.0) < SEVERAL:
        shared = f" (that of {percent(row.limit_share)} of these doors; others have another)"
    shown = f"{at_value(limit, row)}{shared}"
    if not points[0].value <= limit <= points[-1].value:
        return f"the limit in use, {shown}, lies outside what the doors show"
    nearest = min(points, key=lambda point: abs(point.value - limit))
    if nearest.value == nearest.reference:
        return f"the limit in use, {shown}, is where the better doors lie"
    return f"at the limit in use, {shown}, it comes back {nearest.ratio.words(unit=' times')} as often"


def limit_now(row: LimitAdvice) -> str:
    """The limit in use on most of the doors, for a table."""
    return "none" if row.limit_now is None else at_value(row.limit_now, row)


def at_value(value: float, row: LimitAdvice, digits: int = 3) -> str:
    """`1.25 mm`: a value of the deviation without an interval, to `digits` significant digits."""
    scale, unit = row.told_in
    return f"{plain(value * scale, digits)}{unit}"


def curve_do(row: LimitAdvice) -> str:
    """What follows from one curve."""
    if row.advice == "tighten" and row.limit_now is not None:
        return (
            f"Tighten from {at_value(row.limit_now, row)}, in steps: a limit at {RISK} times the risk, {_place(row)}, "
            f"would put {percent(row.share_beyond)} of the doors on record out.{_but_cost(row)} See first that the "
            "instrument can tell it, and what the product's instructions ask."
        )
    if row.advice == "loosen" and row.limit_now is not None:
        end, way = (row.limit_high, "down") if row.is_lower_worse else (row.limit_low, "up")
        return (
            f"May be loosened from {at_value(row.limit_now, row)} {way} to {_not_beyond(end, row)}, where the "
            f"product's instructions and local codes allow: before that no fault with evidence reaches {RISK} times."
        )
    if row.limit_now is None:
        return (
            f"No limit is in use: consider one at {_place(row)}."
            if row.limit_risk_1_5 is not None
            else "Keep reading it."
        )
    return sentence(f"Keep the limit: {row.note}")


def _not_beyond(end: float | None, row: LimitAdvice) -> str:
    """The end as a rule is read, rounded towards the limit in use: no more is said than is known."""
    if end is None:
        return ""
    scale, unit = row.told_in
    digits = 1 if abs(end * scale) < COARSE else 0
    rounded = ceil if row.is_lower_worse else floor
    return f"{number(rounded(end * scale * 10**digits) / 10**digits, digits)}{unit}"


def _but_cost(row: LimitAdvice) -> str:
    """Where money alone would say no."""
    if row.rework_cost is None or row.limit_cost is not None:
        return ""
    return " In money alone no limit pays (see the table below)."


def cost_words(row: LimitAdvice) -> str:
    """The limit that costs least, or why there is none."""
    if row.evidence != "strong":
        return ""
    if row.rework_cost is None:
        return "costs not known"
    if row.limit_cost is None:
        return "no limit pays"
    known = row.cheapest
    if known is not None:
        return _readable(known, row)
    return f"{at_value(row.limit_cost, row)}, or none"


def risk_words(row: LimitAdvice) -> str:
    """The value with 1.5 times the risk for the table."""
    if row.limit_risk_1_5 is not None:
        return _place(row)
    if row.reference is None:
        return "no curve"
    soonest = row.limit_high if row.is_lower_worse else row.limit_low
    return "not within the data" if soonest is None else f"beyond the data (from {at_value(soonest, row, 2)})"


def advice_says(advice: list[LimitAdvice]) -> str:
    """Heading of the table of advice."""
    moved = sum(row.is_to_move for row in advice)
    kept = f"{few_in_words(moved)} to move" if moved else "none to move"
    return f"Limit advice: {counted(len(advice), 'pair')} with evidence, {kept}"


def advice_how(advice: list[LimitAdvice], currency: str | None) -> str:
    """What the columns mean, and what the cheapest limit takes for granted."""
    return (
        "Only strong evidence moves a limit. The cheapest limit weighs putting doors right before handover against the "
        "callbacks it spares up to the end of the warranty; where it costs more than it spares, no limit pays. "
        f"Intervals are 95 %.{_rework(advice, currency)} The product's own instructions, local codes and licensed "
        "practice go first."
    )


def _rework(advice: list[LimitAdvice], currency: str | None) -> str:
    costs = sorted({row.rework_cost for row in advice if row.rework_cost is not None})
    if not costs:
        return ""
    shown = " to ".join(dict.fromkeys(money(cost, currency) for cost in (costs[0], costs[-1])))
    if not any(row.is_usual_rework for row in advice):
        return f" Putting a door right is taken to cost {shown}, the firm's own figure."
    return (
        f" Putting a door right is taken to cost {shown}: hours usual in its step, common practice without a source, "
        "at the labour rate; rework_cost in fitback.toml gives the firm's own figure."
    )
