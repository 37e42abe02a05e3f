"""What the sheets of steps, rates and methods and the crews' own claim, sentence by sentence, and what must be so."""

from pipeline.report.rows.crew_step_rows import CrewStep
from pipeline.report.rows.table_rows import CrewOut, CrewRate, WeakStep
from pipeline.report.rows.training_rows import TrainingEffect
from pipeline.report.rows.watch_rows import UsualSide, WatchedThing
from pipeline.report.rows.year_rows import YearChange
from pipeline.report.watching import side_words
from tests.report.random_firm import RandomFirm
from tests.report.random_rows import STEPS
from tests.report.told_claims import (
    STEP,
    Check,
    D,
    F,
    Found,
    K,
    N,
    T,
    causes,
    crew,
    crew_hint,
    crew_side,
    crew_sides,
    is_told,
    names_in,
    number_of,
    side_of,
    sides_named,
    step_side,
    weak,
    weak_sides,
)  # fmt: skip

S, KK = rf"(?P<s>{STEP})", rf"(?P<k>{K})"
SPLIT = "racking_less_rotation"
OUTCOMES = {
    "Doors with something out": "out_share",
    "Callbacks of the faults that the step can bring": "callbacks",
}


def _tells_share(firm: RandomFirm, found: Found, side: int) -> bool:
    one = weak(firm, found)
    return step_side(one) == side and is_told(
        found["i"], (one.out_share, one.out_low, one.out_high), 100, one.firm_out_share
    )


def _most_often(firm: RandomFirm, found: Found) -> bool:
    """No crew is apart, and no step that is recorded on ten doors is out more often."""
    doors: dict[str, int] = {}
    shares = {one.step: one.firm_out_share or 0.0 for one in firm.of(WeakStep) if one.doors}
    for one in firm.of(WeakStep):
        doors[one.step] = doors.get(one.step, 0) + one.doors
    enough = {step: share for step, share in shares.items() if doors[step] >= 10}
    rows = {one.step: one for one in firm.of(WeakStep) if one.step in enough}
    first = rows[found["s"]]
    level = {step for step, one in rows.items() if one is not first and one.firm_out_high >= first.firm_out_low}
    return (
        1 not in weak_sides(firm)
        and not any(map(_is_gain, firm.of(WeakStep)))
        and enough[found["s"]] == max(enough.values())
        and is_told(found["i"], (first.firm_out_share, first.firm_out_low, first.firm_out_high), 100)
        and set(names_in(found["t"] or "", STEP)) <= level
        and bool(found["t"]) == bool(level)
    )


def _named_weak(firm: RandomFirm, text: str) -> bool:
    named = names_in(text, rf"({K}) in ({STEP})")
    return bool(named) and all(step_side(weak(firm, {"k": name, "s": step})) == 1 for name, step in named)


def _all_of_step(firm: RandomFirm, found: Found) -> bool:
    """The crews that a step's caption names are those that are more often out, all of them."""
    named = {found["k"].lower(), *map(str.lower, names_in(found["also"] or "", K))}
    rows = [one for one in firm.of(WeakStep) if one.step == found["s"].lower()]
    apart = {f"crew {one.crew}".lower() for one in rows if one.doors and step_side(one) == 1}
    return _tells_share(firm, found, 1) and named <= apart and (named == apart or "more" in (found["also"] or ""))


def _better(firm: RandomFirm, found: Found) -> bool:
    """Each is less often out in some step; the step stands in the heading of its figure."""
    less = {one.crew for one in firm.of(WeakStep) if step_side(one) < 0}
    return {name.split()[1] for name in names_in(found["t"], K)} <= less


def _is_gain(one: WeakStep) -> bool:
    return one.doors > 0 and one.priority is not None and side_of(one.priority_low, one.priority_high, 0.0) == 1


def _gain(firm: RandomFirm, found: Found) -> bool:
    one = weak(firm, found)
    return _is_gain(one) and is_told(found["i"], (one.priority, one.priority_low, one.priority_high), datum=0.0)


def _spares_most(firm: RandomFirm, found: Found) -> bool:
    return weak(firm, found).priority == max(one.priority or 0.0 for one in firm.of(WeakStep) if _is_gain(one))


def _share_there(firm: RandomFirm, found: Found) -> bool:
    """The share is that of the crew and step in which practice spares most; it claims no side of the firm."""
    one = max(filter(_is_gain, firm.of(WeakStep)), key=lambda one: one.priority or 0.0)
    return is_told(found["i"], (one.out_share, one.out_low, one.out_high), 100)


def _through(firm: RandomFirm, found: Found, side: int = 0) -> bool:
    """A step of some crew goes clearly that way, or, where none is given, one way, and its ratio is as told."""
    return any(
        one.step == found["s"].lower()
        and found.get("k", f"crew {one.crew}").lower() == f"crew {one.crew}".lower()
        and side_of(one.low, one.high) in ((side,) if side else (1, -1))
        and is_told(found["i"], (one.ratio, one.low, one.high), datum=1.0)
        for one in firm.of(CrewStep)
    )


def _fair(firm: RandomFirm, found: Found, side_of_one: object = None) -> bool:
    one = crew(firm, found["k"])
    sides = (crew_side(one), crew_hint(one)) if side_of_one is None else (side_of_one(one),)  # type: ignore[operator]
    return any(sides) and is_told(found["i"], (one.fair_ratio, one.fair_low, one.fair_high), datum=1.0)


def _way(one: CrewRate) -> int:
    return side_of(one.fair_low, one.fair_high)


def _part_of(firm: RandomFirm, found: Found, which: str, sides: tuple[int, ...]) -> bool:
    """Some crew's part through the steps, or what is left, lies so and is as told."""
    return any(
        side_of(getattr(one, f"{which}_low"), getattr(one, f"{which}_high")) in sides
        and is_told(found["i"], tuple(getattr(one, f"{which}_{part}") for part in ("ratio", "low", "high")), datum=1.0)
        for one in firm.of(CrewRate)
    )


def _held(firm: RandomFirm, found: Found) -> bool:
    """So many crews lie within; a crew that was not compared is not said to."""
    watched = [one for one in firm.of(CrewRate) if one.crew != "all" and one.door_years > 0]
    compared = [one for one in watched if one.fair_low is not None]
    within = [one for one in compared if crew_side(one) == 0]
    told = {"both": 2, "all": number_of(found["of"] or "no")}
    n = told.get(found["n"].lower()) or number_of(found["n"])
    of = number_of(found["of"]) if found["of"] else n
    return n == len(within) and of == len(compared)


def _usual_side(firm: RandomFirm, found: Found) -> bool:
    """The mean of some place lies on the side that is said, and is as told."""
    words = side_words()
    return any(
        one.place in words
        and found["w"] == words[one.place].of(side_of(one.mean_low, one.mean_high, 0.0))
        and is_told(found["i"], _sizes(one), datum=0.0)
        and found.get("k", f"crew {one.crew}") == f"crew {one.crew}"
        for one in firm.of(UsualSide)
    )


def _sizes(one: UsualSide) -> tuple[float, float, float]:
    ends = sorted((abs(one.mean_low or 0.0), abs(one.mean_high or 0.0)))
    return abs(one.mean), ends[0], ends[1]


def _split(firm: RandomFirm, found: Found) -> bool:
    sides = {
        f"crew {one.crew}": side_of(one.mean_low, one.mean_high, 0.0)
        for one in firm.of(UsualSide) if one.measure == SPLIT and one.side is not None
    }  # fmt: skip
    told = ((found["rack"], 1), (found["turn"], -1))
    return all(sides[name] == side for text, side in told for name in names_in(text or "", K))


def _trained(firm: RandomFirm, found: Found) -> bool:
    rows = [one for one in firm.of(TrainingEffect) if one.outcome == OUTCOMES[found["o"]] and one.crew != "all"]
    sides = {f"crew {one.crew}": side_of(one.ratio_low, one.ratio_high) for one in rows}
    told = ((found["less"], -1), (found["more"], 1))
    return (
        all(sides[name] == side for text, side in told for name in names_in(text or "", K))
        and number_of(found["n"]) == sum(one.ratio_low is not None for one in rows)
        and (bool(found["less"] or found["more"]) or not any(sides.values()))
    )


def _rate_as_told(firm: RandomFirm, found: Found) -> bool:
    whole = next(one for one in firm.of(CrewRate) if one.crew == "all")
    return is_told(found["i"], (whole.rate, whole.rate_low, whole.rate_high))


def _year(firm: RandomFirm, found: Found) -> bool:
    one = firm.of(YearChange)[0]
    side = 1 if "more" in found["w"] else -1 if "less" in found["w"] else 0
    told = is_told(found["i"], (one.ratio, one.ratio_low, one.ratio_high), datum=1.0)
    return told and side == side_of(one.ratio_low, one.ratio_high)


CLAIMS: tuple[tuple[str, Check], ...] = (
    (
        rf"Begin with {KK} in the {S} step: practice there could spare (?P<i>{T}) callbacks a year",
        lambda firm, m: _gain(firm, m) and _spares_most(firm, m),
    ),
    (
        rf"Begin with {KK} in the {S} step: (?P<i>{T}) of its {N} doors? have something out, against {T} in the firm",
        lambda firm, m: _tells_share(firm, m, 1) and not any(map(_is_gain, firm.of(WeakStep))),
    ),
    (rf"There (?P<i>{T}) of its {N} doors? have something out, against {T} in the firm", _share_there),
    (
        rf"No crew is out more often than the firm in any step; the step most often out is {S}, (?P<i>{T}) of {N} "
        r"doors?(?:; (?P<t>[^.]+) may be out as often)?",
        _most_often,
    ),
    (
        rf"Most often out is the {S} step, (?P<i>{T}) of {N} doors?(?:; (?P<t>[^.]+) may be out as often)?",
        lambda firm, m: _most_often(firm, m) and len(firm.crew_names) == 1,
    ),
    (r"More often out than the firm: (?P<t>[^.]+)", lambda firm, m: _named_weak(firm, m["t"])),
    (
        rf"Of (?P<all>{N}) pairs? of a crew and a step, (?P<n>\w+) (?:is|are) out more often than the firm "
        "beyond chance",
        lambda firm, m: (
            (0 if m["n"] == "none" else number_of(m["n"])) == weak_sides(firm).count(1)
            and number_of(m["all"]) == len(weak_sides(firm))
        ),
    ),
    (
        rf"{S}: more often out than the firm, {T}: {KK}, (?P<i>{T}) of its {N} doors?(?:, and (?P<also>[^.]+))?",
        _all_of_step,
    ),
    (
        rf"{S}: {T} of {N} doors? have something out; no crew is more often out than the firm",
        lambda firm, m: 1 not in weak_sides(firm, m["s"].lower()),
    ),
    (r"No crew is more often out than the firm", lambda firm, m: 1 not in weak_sides(firm)),
    (rf"(?P<t>{K}(?:(?:, | and ){K})*(?:(?:,| and) {N} more)?) (?:is|are) less often out: ask what is done", _better),
    (
        rf"Practise with {KK}: ",
        lambda firm, m: any(
            step_side(one) == 1 or _is_gain(one) for one in firm.of(WeakStep) if f"crew {one.crew}" == m["k"]
        ),
    ),
    (
        rf"Practise the {S} step\.",
        lambda firm, m: (
            1 in weak_sides(firm, m["s"]) or any(_is_gain(one) for one in firm.of(WeakStep) if one.step == m["s"])
        ),
    ),
    (
        r"Nothing in this step is out; keep it so",
        lambda firm, m: any(not sum(one.doors_out for one in firm.of(CrewOut) if one.step == step) for step in STEPS),
    ),
    (
        rf"Where practice spares callbacks: first {KK} in {S}, (?P<i>{T}) callbacks a year",
        lambda firm, m: _gain(firm, m) and _spares_most(firm, m),
    ),
    (rf"{KK}: {S}, (?P<i>{T}) callbacks a year; {N} doors? with the step recorded", _gain),
    (
        r"No practice is shown to spare callbacks yet",
        lambda firm, m: not any(map(_is_gain, firm.of(WeakStep))),
    ),
    (rf"{KK}'s {S} brings (?P<i>{T}) the callbacks of the firm's", lambda firm, m: _through(firm, m, 1)),
    (rf"{S} (?P<i>{T}), above all gadget \d", _through),
    (
        rf"(?P<t>(?:{K}|, | and |{N} more| above| below)+) the firm on doors like theirs",
        lambda firm, m: sides_named(firm, m["t"], crew_side),
    ),
    (
        rf"None of (?P<n>\w+) crews is clearly apart from the others(?:; perhaps (?P<t>(?:{K}|, | and |{N} more|"
        r" above| below)+) the firm)?",
        lambda firm, m: (
            not any(crew_sides(firm))
            and (sides_named(firm, m["t"], crew_hint) if m["t"] else not any(crew_sides(firm, crew_hint)))
        ),
    ),
    (
        r"(?:(?P<n>Both|All (?P<of>\w+)|\w+ of (?P<of2>\w+))) crews (?:lies|lie) within what chance and the usual "
        "differences explain",
        lambda firm, m: _held(firm, {"n": m["n"].split()[0], "of": m["of"] or m["of2"]}),
    ),
    (
        rf"A hint: on the same doors, {KK} is called back (?P<i>{T}) as often as the firm",
        lambda firm, m: not any(crew_sides(firm)) and _fair(firm, m, crew_hint),
    ),
    (
        rf"On the same doors, {KK} is called back (?P<i>{T}) as often as the firm",
        lambda firm, m: _fair(firm, m, crew_side),
    ),
    (
        r"On the same doors no crew is called back clearly more or less often",
        lambda firm, m: not any(crew_sides(firm)) and not any(crew_sides(firm, crew_hint)),
    ),
    (r"See on the weak-steps sheet what to practise with that crew", lambda firm, m: 1 in crew_sides(firm)),
    (r"Ask what is done differently there, and show it to the others", lambda firm, m: -1 in crew_sides(firm)),
    (
        rf"{KK}'s (?P<i>{T}) are not all in what is measured",
        lambda firm, m: (
            _fair(firm, m)
            and side_of(crew(firm, m["k"]).rest_low, crew(firm, m["k"]).rest_high) == _way(crew(firm, m["k"]))
        ),
    ),
    (rf"What makes {KK}'s (?P<i>{T}) is not clear from what is measured", _fair),
    (
        rf"{KK}'s (?P<i>{T}) go with how its doors were fitted(?:, above all the {S}: gadget \d)?",
        lambda firm, m: (
            _fair(firm, m)
            and side_of(crew(firm, m["k"]).steps_low, crew(firm, m["k"]).steps_high) == _way(crew(firm, m["k"]))
        ),
    ),
    (rf"{KK}: (?P<i>{T}) as often as the firm on the same doors", _fair),
    (
        rf"How its doors were fitted, as far as it is measured, does not tell it apart: (?P<i>{T})",
        lambda firm, m: _part_of(firm, m, "steps", (0,)),
    ),
    (
        rf"How its doors were fitted, as far as it is measured, comes to (?P<i>{T})",
        lambda firm, m: _part_of(firm, m, "steps", (1, -1)),
    ),
    (rf"What is left, (?P<i>{T}), could be chance", lambda firm, m: _part_of(firm, m, "rest", (0,))),
    (rf"What is left, (?P<i>{T}), is beyond chance", lambda firm, m: _part_of(firm, m, "rest", (1, -1))),
    (rf"(?P<i>{T}) callbacks per 100 door-years", _rate_as_told),
    (
        rf"{KK} is (?P<n>\d+)(?:st|nd|rd|th) of \d+",
        lambda firm, m: crew(firm, m["k"]).place_low == crew(firm, m["k"]).place_high == int(m["n"]),
    ),
    (
        r"(?P<w>Callbacks come (?:more|less) often than a year ago|Neither better nor worse than a year ago, as far as "
        rf"can be told): {N} callbacks? on known doors in the twelve months to \w+ \d+, "
        rf"(?P<i>{T}) as often as in the twelve before",
        _year,
    ),
    (
        r"(?P<w>Callbacks come (?:more|less) often than a year ago|Neither better nor worse than a year ago, as far as "
        rf"can be told): (?P<i>{T}) as often, on doors of the same age",
        _year,
    ),
    (
        r"Whether it gets better cannot be told",
        lambda firm, m: all(one.ratio is None for one in firm.of(YearChange)),
    ),
    (rf"Which way: (?P<w>[^,]+(?:, its top[^,]+)?), (?P<i>{T}) on average", _usual_side),
    (rf"Do first: mend (?P<d>{D})\.", lambda firm, m: any(one.words == m["d"] for one in causes(firm, "strong"))),
    (rf"With {KK} (?P<w>.+?): (?P<i>{T}) on average", _usual_side),
    (
        r"no usual side that is an error is shown in",
        lambda firm, m: (
            not any(
                words[one.place].of(side_of(one.mean_low, one.mean_high, 0.0))
                for words in (side_words(),)
                for one in firm.of(UsualSide)
                if one.place in words and one.side is not None
            )
        ),
    ),
    (
        rf"Why leaves hang low: (?:rather racking with (?P<rack>(?:{K}|, | and |{N} more)+))?(?:; )?"
        rf"(?:rather turning at the hinges with (?P<turn>(?:{K}|, | and |{N} more)+))?; over {N} doors",
        _split,
    ),
    (
        r"Why leaves hang low: neither hinges nor glass stand out with any crew",
        lambda firm, m: (
            not any(
                side_of(one.mean_low, one.mean_high, 0.0)
                for one in firm.of(UsualSide)
                if one.measure == SPLIT and one.side is not None
            )
        ),
    ),
    (
        r"(?P<o>Doors with something out|Callbacks of the faults that the step can bring): (?:fewer since the training "
        r"of (?P<less>[^;]+))?(?:; )?(?:more since that of (?P<more>[^;]+))?(?:no training is told apart from no "
        rf"change)?; (?P<n>{N}) of {N} trainings? can be judged",
        _trained,
    ),
    (
        rf"In the firm's records it goes with (?P<f>{F}) \((?P<w>strong evidence|a hint, not sure yet)\)",
        lambda firm, m: any(
            one.fault_words == m["f"] and (one.evidence == "strong") == (m["w"] == "strong evidence")
            for one in firm.of(WatchedThing)
        ),
    ),
    (rf"(?:Usually|doors;) (?P<w>[^:]+): (?P<i>{T}) on average", _usual_side),
)
