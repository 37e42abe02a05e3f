"""Rows of the result tables drawn at random, as one firm's would be.

Intervals lie on one side of no effect, over it or end on it, by a hair or by far; there are firms with one crew or
many, without callbacks, with everything too few. Names are such that a sentence says which row it tells of.
"""

from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np

from pipeline.report import reading
from pipeline.report.rows.change_rows import RunChange
from pipeline.report.rows.check_rows import ModelCheck
from pipeline.report.rows.crew_step_rows import CrewStep
from pipeline.report.rows.dose_rows import CurvePoint, LimitAdvice
from pipeline.report.rows.example_rows import ExampleDoor
from pipeline.report.rows.first_cause_rows import FirstCause
from pipeline.report.rows.method_rows import Blur, OtherWay
from pipeline.report.rows.outlook_rows import Cohort, LookBack, MonthAhead, PaperMonth, Plan
from pipeline.report.rows.part_rows import EffectPart
from pipeline.report.rows.signal_rows import Watched
from pipeline.report.rows.table_rows import Effect, Firm, Tally
from pipeline.report.rows.training_rows import TrainingEffect
from pipeline.report.rows.watch_rows import UsualSide, WatchedThing
from pipeline.report.rows.year_rows import YearChange
from pipeline.report.watching import side_words
from tests.report.samples import crew_out, crew_rate, effect, limit_count, month_of, open_pair, recorded, weak_step

STEPS = ("survey", "sill", "frame", "hanging", "glazing", "adjustment")
DAY = date(2026, 6, 30)
Rng = np.random.Generator
Parts = tuple[float, float, float]
# How often pairs show strong evidence, a hint, nothing, or are too few.
MANNERS = ((0.0, 0.0, 0.4, 0.6), (0.0, 0.3, 0.4, 0.3), (0.2, 0.2, 0.3, 0.3), (0.4, 0.3, 0.2, 0.1))


def about(rng: Rng, datum: float, side: str, scale: float) -> Parts:
    """Estimate and interval on a side of the datum: `above`, `below`, `over` it, or ending on it (`touching`)."""
    near, width = scale * 10 ** rng.uniform(-2.3, 0), scale * 10 ** rng.uniform(-1.5, 0.3)
    if side == "over":
        low, high = datum - width * rng.uniform(0.05, 1), datum + width * rng.uniform(0.05, 1)
    elif side == "touching":
        low, high = (datum, datum + width) if rng.random() < 0.5 else (datum - width, datum)
    else:
        low, high = (datum + near, datum + near + width) if side == "above" else (datum - near - width, datum - near)
    return low + (high - low) * rng.uniform(0.2, 0.8), low, high


def ratio(rng: Rng, side: str, scale: float = 0.8) -> Parts:
    """The same for a ratio, about 1."""
    parts = np.exp(about(rng, 0.0, side, scale))
    return float(parts[0]), float(parts[1]), float(parts[2])


def any_side(rng: Rng) -> str:
    """A side at random."""
    return str(rng.choice(["above", "below", "over", "touching"]))


class RandomRows:
    """The rows of a firm that was never computed, by their kind, drawn from a seed."""

    def __init__(self, seed: int) -> None:
        """seed: the same seed, the same firm."""
        rng = np.random.default_rng(seed)
        self.rows_by: dict[type, list[Any]] = {}
        self.tallies = {query: _tally(rng, names) for query, names in TALLIES.items()}
        self.is_calm = bool(rng.random() < 0.2)  # what is looked at again stays as it was found
        self.is_new = bool(rng.random() < 0.12)  # nothing can be told yet
        self.crew_names = [f"K{number}" for number in range(1, int(rng.choice([1, 2, 2, 4, 9, 14])) + 1)]
        for number, make in enumerate(MAKERS):  # each draws by itself, so that none shifts the others
            for row in make(np.random.default_rng([seed, number]), self):
                self.rows_by.setdefault(type(row), []).append(row)
            self.of(Effect).sort(key=lambda one: (one.step_order, one.deviation, one.fault))

    def of(self, kind: type) -> list[Any]:
        """The rows of a kind."""
        return self.rows_by.get(kind, [])


def _tally(rng: Rng, names: tuple[str, ...]) -> list[Tally]:
    found = [Tally(name, int(rng.integers(1, 400))) for name in names if rng.random() < 0.7]
    return sorted(found, key=lambda tally: -tally.rows)


TALLIES = {
    reading.RESPONSIBILITIES: ("installation", "unknown", "customer", "none"),
    reading.KINDS: ("episode", "repeat", "pre_handover", "outside", "no door"),
    reading.LINKED: ("install_id", "job_no", "matched", "none"),
    reading.CODED: ("keyed", "note", "unclear"),
}


def _firm(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    doors = 0 if rng.random() < 0.05 else int(rng.integers(1, 3000))
    callbacks = 0 if rng.random() < 0.1 else int(rng.integers(1, 900))
    has_log = bool(callbacks) or rng.random() < 0.5
    currency = str(rng.choice(["GBP", ""])) or None
    yield Firm("Invented", currency, DAY, DAY, doors, len(firm.crew_names), DAY, DAY, callbacks, "a run", has_log)
    yield Watched(int(rng.integers(0, 300)), int(rng.integers(0, 9)), float(rng.uniform(0, 3)))
    yield Plan(float(rng.choice([0.0, 40.0])) or None, 24.0, bool(rng.random() < 0.5), int(rng.integers(0, 2000)))


def _effects(rng: Rng, firm: RandomRows) -> Iterator[Effect]:
    deviations, faults = rng.integers(0, 8), rng.integers(1, 6)
    usual = MANNERS[int(rng.integers(len(MANNERS)))]
    for deviation in range(deviations):
        step = int(rng.integers(1, 6))
        names = {
            "deviation": f"gizmo_{deviation}", "words": f"gizmo {deviation}", "do": f"mend gizmo {deviation}",
            "step": STEPS[step], "step_order": step, "is_check": deviation % 3 == 0, "family": f"gizmo_{deviation}",
            "role": "cause" if rng.random() < 0.85 else "variant", "doubted_doors": int(rng.choice([0, 0, 40])),
        }  # fmt: skip
        for fault in range(faults):
            names |= {"fault": f"woe_{fault}", "fault_words": f"woe {fault}", "is_expected": bool(rng.random() < 0.5)}
            few = open_pair(**names, doors_needed=_maybe(rng, 2000))
            yield few if firm.is_new else _effect(rng, usual, names, firm.is_calm)


def _effect(rng: Rng, usual: tuple[float, ...], names: dict[str, Any], is_calm: bool) -> Effect:
    evidence = str(rng.choice(["strong", "suggestive", "none", "too_few"], p=usual))
    if evidence == "too_few":
        return open_pair(**names, events=int(rng.integers(0, 30)), doors_needed=_maybe(rng, 2000))
    side = {"strong": "above", "suggestive": str(rng.choice(["above", "below"]))}.get(evidence, "over")
    if rng.random() < 0.1:  # as no table should have it: a page holds to the interval all the same
        side = any_side(rng)
    best, low, high = ratio(rng, side, 3.0 if rng.random() < 0.1 else 0.8)
    if evidence == "strong" and side == "above":
        best, low, high = 1.05 * best, 1.05 * low, 1.05 * high
    spared = about(rng, 0.0, "above" if rng.random() < 0.4 else any_side(rng), float(rng.choice([0.05, 8.0, 8.0])))
    values = dict(zip(("avoidable_per_year", "avoidable_low", "avoidable_high"), spared, strict=True))
    if rng.random() < 0.1:
        values = dict.fromkeys(values)
    cost = spared[0] * 231.0 if rng.random() < 0.7 and values["avoidable_low"] is not None else None
    return effect(
        **names, **values, evidence=evidence, contrast_ratio=best, contrast_low=low, contrast_high=high,
        avoidable_cost_per_year=cost, attributable_share=float(rng.choice([0.0, 0.2])) or None,
        ratio_without_doubtful=best if is_calm else _maybe(rng, 2.0), doors=int(rng.integers(1, 2000)),
        events=int(rng.integers(10, 300)),
    )  # fmt: skip


def _maybe(rng: Rng, most: float) -> Any:
    return None if rng.random() < 0.2 else type(most)(rng.uniform(0, most))


def _found(firm: RandomRows, evidence: str = "strong") -> list[Effect]:
    return [one for one in firm.of(Effect) if one.role == "cause" and one.evidence == evidence and one.is_claimed]


def _of_pair(one: Effect) -> dict[str, Any]:
    return {name: getattr(one, name) for name in ("fault", "fault_words", "deviation", "words")}


def _beside_effects(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    strong, hints = _found(firm), _found(firm, "suggestive")
    for number, one in enumerate(strong[:3], 1):
        for kind in ("came back", "did not")[: int(rng.integers(1, 3))]:
            yield ExampleDoor(
                one.fault_words, one.words, "mm", one.is_check, kind, number, "D1", 3.0, DAY, 2.0, DAY,
                int(rng.integers(1, 90)),
            )  # fmt: skip
    names = list(dict.fromkeys(one.deviation for one in (*strong, *hints)))
    most = 1 if firm.is_calm else 20
    total, firsts = int(rng.integers(20, 400)), [int(rng.integers(0, most)) for _ in names]
    callbacks = total + sum(firsts)
    rows = [*zip(names, firsts, strict=True), ("unexplained", total)] if names else []
    rows.sort(key=lambda row: (row[0] == "unexplained", -row[1]))
    for name, first in rows:
        share, part = about(rng, 0.4, "over", 0.1), about(rng, 0.4, "over", 0.1)
        cost = _maybe(rng, 9000.0)
        words = name.replace("_", " ")
        shown = part[0] * float(rng.choice([1.0, 0.2]))  # the rest is what the trade expects
        yield FirstCause(name, words, "sill", "woe 0", callbacks, first, *share, *part, shown, cost, 40 if cost else 0)
    for one in (*strong, *hints):
        for what in ("as reported", "until the first visit", "without records in doubt"):
            verdict, way = (
                _other(rng, firm.is_calm) if what != "as reported" else (None, (one.contrast_ratio, None, None))
            )
            e_value = (3.0, float(rng.uniform(1, 3))) if rng.random() < 0.8 else (None, None)
            yield OtherWay(*_of_pair(one).values(), one.evidence, what, 900, 40, *way, None, None, None, *e_value,
                           verdict)  # fmt: skip
        verdict = str(rng.choice(["corrected", "corrected for rounding only", "the instrument cannot tell"]))
        known = ratio(rng, "above") if verdict.startswith("corrected") else (None, None, None)
        told = (one.contrast_ratio, one.contrast_low, one.contrast_high)
        yield Blur(*_of_pair(one).values(), 0.8, *known, *told, 900, 800, 20, verdict, "")
        yield from _parts(rng, one, firm.is_calm)


def _other(rng: Rng, is_calm: bool) -> tuple[str, Any]:
    if is_calm:
        return "holds", ratio(rng, "above")
    side = any_side(rng)
    verdict = {"above": "holds", "below": "turns"}.get(side, "weaker")
    return ("too_few", (None, None, None)) if rng.random() < 0.2 else (verdict, ratio(rng, side))


def _parts(rng: Rng, one: Effect, is_calm: bool) -> Iterator[EffectPart]:
    for by in ("crew", "material", "season"):
        verdict = "alike" if is_calm else str(rng.choice(["differs", "alike", "too_few"]))
        levels = {"crew": ["all"], "material": ["timber", "pvc-u"], "season": ["in winter", "in summer"]}[by]
        if by == "crew" and verdict == "differs":
            levels += ["K1", "K2", "K3"][: int(rng.integers(0, 4))]
        q = None if verdict == "too_few" else 0.01 if verdict == "differs" else 0.4
        for level in levels:
            told = (None, None, None) if verdict == "too_few" else ratio(rng, any_side(rng))
            spread = (0.3, 0.6) if by == "crew" and level == "all" and verdict != "too_few" else (None, None)
            yield EffectPart(*_of_pair(one).values(), by, level, *told, *spread, 300, 20, q, verdict)


def _advice(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    for one in _found(firm):
        if one.is_check:
            continue
        lower, kind = bool(rng.random() < 0.3), str(rng.choice(["tighten", "loosen", "keep"]))
        best, low, high = about(rng, 4.0, "over", 1.0)
        # the limit lies beyond the whole interval of the value with 1.5 times the risk, where the advice needs it
        worse = -1.0 if lower else 1.0
        beyond = {"tighten": worse, "loosen": -worse}.get(kind, 0.0)
        now = high + rng.uniform(0.01, 3) if beyond > 0 else low - rng.uniform(0.01, 3) if beyond < 0 else best
        yield LimitAdvice(
            *_of_pair(one).values(), "mm", "lower" if lower else "higher", "strong", kind, "it is a note",
            None if kind == "keep" and rng.random() < 0.3 else now, best, low, high, None, None, None, 1.0, 9.0, 1, 1.0,
            0.2, None, None,
        )  # fmt: skip
        for value in (1.0, 2.0, 4.0, 8.0):
            told = (1.0, 1.0, 1.0) if value == 1.0 else ratio(rng, any_side(rng))
            yield CurvePoint(one.fault, one.deviation, value, *told, 50, 1.0, 3)


def _crews(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    watched = float(rng.choice([0.4, 30.0, 900.0]))
    compared, has_rate = len(firm.crew_names) > 1 and rng.random() < 0.9, rng.random() < 0.95
    if has_rate:
        yield crew_rate("all", None, callbacks=80, callbacks_all=96, door_years=watched, cost=_maybe(rng, 9000.0))
    for name in firm.crew_names if has_rate else ():
        side = any_side(rng)
        fair = ratio(rng, side) if compared and rng.random() < 0.9 else None
        funnel = str(rng.choice(["inside", "inside", "above", "below"])) if fair else "empty"
        shares = [ratio(rng, any_side(rng)) if fair and rng.random() < 0.9 else (None, None, None) for _ in range(2)]
        low = int(rng.integers(1, len(firm.crew_names) + 1))
        places = (low, int(rng.integers(low, len(firm.crew_names) + 1)), len(firm.crew_names))
        names = ("steps_ratio", "steps_low", "steps_high", "rest_ratio", "rest_low", "rest_high")
        values = dict(zip(names, (*shares[0], *shares[1]), strict=True))
        values |= dict(zip(("place_low", "place_high", "crews_compared"), places, strict=True))
        yield crew_rate(name, fair, funnel=funnel, door_years=watched / len(firm.crew_names), **values)
        for order, step in enumerate(STEPS[1:], 1):
            if rng.random() < 0.6:
                yield CrewStep(name, step, order, *ratio(rng, any_side(rng)), f"gadget {order}")


def _steps(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    few = rng.random() < 0.15
    for order, step in enumerate(STEPS):
        firm_share = float(rng.uniform(0.02, 0.5))
        judged, is_clean = bool(rng.random() < 0.85), rng.random() < 0.15
        for name in firm.crew_names if rng.random() < 0.85 else ():
            doors = int(rng.integers(0, 5 if few else 200))
            own, later = (about(rng, firm_share, any_side(rng), min(firm_share, 0.3)) for _ in range(2))
            gain = about(rng, 0.0, any_side(rng), 5.0) if rng.random() < 0.7 else (None, None, None)
            values = dict(zip(("out_share", "out_low", "out_high"), own if doors else (None,) * 3, strict=True))
            values |= dict(zip(("shrunk_share", "shrunk_low", "shrunk_high"), later, strict=True))
            values |= dict(zip(("priority", "priority_low", "priority_high"), gain, strict=True))
            yield weak_step(name, 0.0, 0.0, firm_share, step=step, step_order=order, doors=doors, doors_out=0, **values)
            outs = int(rng.integers(0, doors + 1)) if judged and not is_clean else 0
            yield crew_out(name, f"gadget_{order}", outs, step=step, doors=doors, is_step_judged=judged)


def _recorded(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    for order, step in enumerate(STEPS):
        for number in range(2):
            doors = int(rng.choice([0, 5, 60, 100]))
            yield recorded(f"gadget_{order}_{number}", doors, step=step, step_order=order)
    for number in range(int(rng.integers(0, 4))):
        out, undecided = (int(rng.integers(0, 30)) * int(rng.integers(0, 2)) for _ in range(2))
        recorded_doors = out + undecided + int(rng.integers(0, 60))
        status = str(rng.choice(["in use", "for comparison"]))
        yield limit_count(
            f"bound {number}", status=status, doors=120, out=out, undecided=undecided,
            within=recorded_doors - out - undecided, not_recorded=120 - recorded_doors,
        )  # fmt: skip


def _sides(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    places = [*side_words(), "leaf_drop_rotation", "leaf_drop_racking", "racking_less_rotation"]
    for name in firm.crew_names:
        for place in places:
            side = "over" if firm.is_new else any_side(rng)
            mean = about(rng, 0.0, side, 2.0)
            told = {"above": 1, "below": -1}.get(side, 0) if rng.random() < 0.8 else None
            measure, _, member = place.partition(" ")
            yield UsualSide(name, "gadget_1", measure, member, 40, 22, 18, *mean, told, "mm")
        for place, step in enumerate(("sill", "frame", "hanging"), 1):
            fault = "woe 1" if rng.random() < 0.5 else None
            evidence = str(rng.choice(["strong", "suggestive"])) if fault else None
            yield WatchedThing(
                name, place, "gadget_1", "sill out of level", "level it", step, "chosen", fault, evidence,
                40, 9, 2, 4.0, "mm", False,
            )  # fmt: skip


def _trainings(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    for outcome in ("out_share", "callbacks"):
        for name in firm.crew_names[: int(rng.integers(0, 5))]:
            told = ratio(rng, any_side(rng)) if rng.random() < 0.8 else (None, None, None)
            yield TrainingEffect(
                name, "sill", DAY, outcome, *told, 0.2, 50, 40, 1, None, None, None, 9, _maybe(rng, 2.0), None
            )  # fmt: skip


def _changes(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    if rng.random() < 0.3:
        return
    run = ("2026-03-01T080000-0a0b0c", DAY)
    count, nothing = float(rng.integers(0, 50)), (None, None)
    yield RunChange("doors", None, None, "all", None, None, count, *nothing, 20.0, *nothing, *run)
    yield RunChange("rate", None, None, "all", None, None, *ratio(rng, "over"), *ratio(rng, any_side(rng), 2.0), *run)
    for name in firm.crew_names[:4]:
        now, then = (str(rng.choice(["inside", "above", "below"])) for _ in range(2))
        yield RunChange(
            "crew", None, None, name, now, then, *ratio(rng, any_side(rng)), *ratio(rng, any_side(rng)), *run
        )
    for one in (*_found(firm)[:2], *_found(firm, "suggestive")[:2]):
        then = "suggestive" if one.evidence == "strong" else "strong"
        now = (one.contrast_ratio, one.contrast_low, one.contrast_high)
        yield RunChange(
            "cause", one.words, one.fault_words, "all", one.evidence, then, *now, *ratio(rng, "above"), *run
        )  # fmt: skip


def _times(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    for number in range(int(rng.integers(0, 6))):
        yield month_of(f"2026-0{number + 1}", is_complete=number < 3)
    if rng.random() < 0.8:
        told = ratio(rng, any_side(rng)) if rng.random() < 0.8 else (None, None, None)
        yield YearChange("2026-06", int(rng.integers(0, 300)), 90, *told, bool(rng.random() < 0.5))
    known, cost = rng.random() < 0.8, rng.random() < 0.8
    for name in (*(f"2026-{month:02}" for month in range(7, 13)), "total") if rng.random() < 0.9 else ():
        told = about(rng, 40.0, "over", 10.0) if known else (None, None, None)
        money = about(rng, 9000.0, "over", 1000.0) if known and cost else (None, None, None)
        yield MonthAhead(name, *told, *money, 40.0, 5.0, 60 if cost else 0)
    for number in range(int(rng.choice([0, 1, 3, 4])) if known else 0):
        told = about(rng, 40.0, "over", 10.0)
        told = (told[0], told[1], max(told[2], 1.3 * told[0])) if firm.is_calm else told
        came = 1.2 * told[0] if firm.is_calm else float(rng.uniform(25, 55))
        inside = told[1] <= came <= told[2]
        yield LookBack(date(2022 + number % 3, 6, 30), DAY, 90, *told, 80, came, inside)
    if rng.random() < 0.7:
        yield Cohort("2025-01-01", 90, 30.0, 12.0, 8.0, 16.0, 6)
        yield Cohort("total", 90, 30.0, *about(rng, 40.0, "over", 10.0), 6)
        corrected = bool(rng.random() < 0.6)
        yield PaperMonth("2026-06", 20, 0.9, *about(rng, 22.0, "over", 3.0), False, False, DAY, corrected)


def _checks(rng: Rng, firm: RandomRows) -> Iterator[Any]:
    for fault in ("all", "woe_0", "woe_1")[: int(rng.integers(0, 4))]:
        verdict = str(rng.choice(["something missed", "nothing missed", "nothing missed", "too_few"]))
        told: list[float | None] = []
        for datum, scale in ((0.5, 0.2), (0.5, 0.2), (0.0, 0.1), (1.0, 0.5), (1.0, 0.5), (1.0, 0.5), (1.0, 0.5)):
            told += about(rng, datum, any_side(rng), scale) if verdict != "too_few" else [None] * 3
        yield ModelCheck(fault, fault.replace("_", " "), DAY, 900, 60, 40, *told, verdict, "gizmo 1", "")


MAKERS = (
    _firm, _effects, _beside_effects, _advice, _crews, _steps, _recorded, _sides, _trainings, _changes, _times, _checks,
)  # fmt: skip
