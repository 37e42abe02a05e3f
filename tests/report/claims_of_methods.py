"""What the sheets claim of the months to come and of whether findings hold, and what must be so."""

from pipeline.report.rows.check_rows import ModelCheck
from pipeline.report.rows.method_rows import OtherWay
from pipeline.report.rows.outlook_rows import Cohort, LookBack, MonthAhead, Plan
from tests.report.random_firm import RandomFirm
from tests.report.told_claims import Check, D, F, Found, N, T, is_told, names_in, number_of, side_of


def _ways(firm: RandomFirm) -> dict[tuple[str, str], set[str]]:
    """What came of each finding in the other ways of looking."""
    found: dict[tuple[str, str], set[str]] = {}
    for one in firm.of(OtherWay):
        found.setdefault((one.fault, one.deviation), set()).update({one.verdict} - {None})
    return found


def _n_ways(firm: RandomFirm) -> tuple[int, int, int]:
    """Findings that hold in every way, that do not, that too few are left to tell of."""
    ways = _ways(firm).values()
    lost = sum(bool(verdicts & {"weaker", "turns"}) for verdicts in ways)
    unsure = sum("too_few" in verdicts and not verdicts & {"weaker", "turns"} for verdicts in ways)
    return len(ways) - lost - unsure, lost, unsure


def _not_everywhere(firm: RandomFirm, text: str) -> bool:
    fallen = {names for names, verdicts in _ways(firm).items() if verdicts & {"weaker", "turns"}}
    named = names_in(text, rf"({D}) → ({F})")
    return bool(named) and {(f.replace(" ", "_"), d.replace(" ", "_")) for d, f in named} <= fallen


def _missed(firm: RandomFirm) -> list[ModelCheck]:
    return [one for one in firm.of(ModelCheck) if one.verdict == "something missed"]


def _ladder(firm: RandomFirm, found: Found) -> bool:
    total = next(one for one in firm.of(Cohort) if one.cohort == "total")
    ahead, plan = firm.of(MonthAhead)[-1], firm.of(Plan)[0]
    there = ahead.from_doors_out * total.doors / plan.doors_out
    return (found["w"] == "they agree") == (total.low <= there <= total.high) and is_told(
        found["i"], (total.to_come, total.low, total.high)
    )


def _sooner(firm: RandomFirm, found: Found) -> bool:
    looks = firm.of(LookBack)
    way = -1 if found["w"] == "fewer" else 1
    return all((look.came - look.callbacks) * way > 0 and look.is_inside for look in looks)


def _gain_of_trees(firm: RandomFirm, found: Found) -> bool:
    """More or fewer is claimed only where the interval says so; else it is said that it could be chance."""
    one = next(one for one in firm.of(ModelCheck) if one.verdict != "too_few")
    parts = (one.c_gain, one.c_gain_low, one.c_gain_high)
    if found["w"] == "fewer":
        parts = (-one.c_gain, -one.c_gain_high, -one.c_gain_low)
    clear = side_of(one.c_gain_low, one.c_gain_high, 0.0)
    return is_told(found["i"], parts, 100, 0.0) and bool(found["chance"]) == (clear == 0)


CLAIMS: tuple[tuple[str, Check], ...] = (
    (
        r"callbacks are to be expected in the twelve months",
        lambda firm, m: firm.of(MonthAhead)[-1].callbacks is not None,
    ),
    (
        rf"gives (?P<i>{T}) for the {N} doors [^;]+; the outlook for [^:]+: (?P<w>they agree|they disagree)",
        _ladder,
    ),
    (r"Each time (?P<w>fewer|more) came than the middle of the line", _sooner),
    (
        r"Looking back from (?P<n>the one|both|all \w+|\w+ of \w+) earlier days, what came lay inside the interval(?:; "
        r"from (?P<out>\w+) it did not)?",
        lambda firm, m: number_of(m["out"] or "no") == sum(not look.is_inside for look in firm.of(LookBack)),
    ),
    (
        r"All (?P<n>\w+) findings hold in every other way of looking that was tried|The one finding holds",
        lambda firm, m: _n_ways(firm) == (number_of(m["n"] or "one"), 0, 0),
    ),
    (
        rf"(?P<n>\w+) of (?P<all>{N}) findings? holds? in every other way of looking; (?:(?P<lost>\w+) (?:does|do) "
        r"not)?(?:, and )?(?:too few are left to tell of (?P<few>\w+))?",
        lambda firm, m: _n_ways(firm) == tuple(number_of(m[name] or "no") for name in ("n", "lost", "few")),
    ),
    (r"Not in every way of looking: (?P<t>[^.]+)", lambda firm, m: _not_everywhere(firm, m["t"])),
    (
        r"No finding loses its direction or its certainty when looked at otherwise",
        lambda firm, m: _n_ways(firm)[1] == 0,
    ),
    (r"Something is missed in ", lambda firm, m: bool(_missed(firm))),
    (
        rf"The plain model misses nothing that the records can show: it ranks (?P<i>{T}) of pairs of doors rightly",
        lambda firm, m: (
            not _missed(firm)
            and any(
                is_told(m["i"], (one.c_plain, one.c_plain_low, one.c_plain_high), 100) for one in firm.of(ModelCheck)
            )
        ),
    ),
    (
        rf"the trees ranked (?P<i>{T}) (?P<w>more|fewer) rightly than the plain model(?P<chance>, which could be "
        r"chance)?",
        _gain_of_trees,
    ),
)
