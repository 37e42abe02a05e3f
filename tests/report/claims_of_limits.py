"""What the pages claim of limits, of parts of the doors and of the run before, and what must be so."""

import re

from pipeline.report.rows.change_rows import RunChange
from pipeline.report.rows.dose_rows import CurvePoint, LimitAdvice
from pipeline.report.rows.part_rows import EffectPart
from pipeline.report.rows.table_rows import LimitCount
from tests.report.random_firm import RandomFirm
from tests.report.told_claims import Check, D, F, Found, K, N, T, agreed, is_told, names_in, side_of


def _advice(firm: RandomFirm, found: Found, kind: str) -> bool:
    """The limit of the curve before lies beyond the whole interval of the value with 1.5 times the risk."""
    rows = [one for one in firm.of(LimitAdvice) if one.advice == kind and one.limit_now is not None]
    clear = [one for one in rows if _lies_beyond(one, kind)]
    now = float(found["now"].replace("−", "-"))
    return any(abs(now - one.limit_now) < 0.01 * (1 + abs(one.limit_now)) for one in clear)


def _lies_beyond(one: LimitAdvice, kind: str) -> bool:
    assert one.limit_now is not None
    worse = -1 if one.worse == "lower" else 1
    return side_of(one.limit_low, one.limit_high, one.limit_now) * worse == (-1 if kind == "tighten" else 1)


def _moved(firm: RandomFirm, text: str) -> bool:
    told = {kind: set(names_in(part, D)) for kind, part in _by_kind(text)}
    return bool(told) and all(
        names <= {one.words for one in firm.of(LimitAdvice) if one.advice == kind and _lies_beyond(one, kind)}
        for kind, names in told.items()
    )


def _by_kind(text: str) -> list[tuple[str, str]]:
    return re.findall(r"(tighten|loosen) ([^;]+)", text)


def _differs(firm: RandomFirm, found: Found) -> bool:
    """Both parts are of one question that is answered with `differs`, and the one called stronger is."""
    rows = [one for one in firm.of(EffectPart) if one.verdict == "differs"]
    for most in rows:
        alike = [one for one in rows if one.asked == most.asked]
        if is_told(found["i"], (most.ratio, most.ratio_low, most.ratio_high), datum=1.0) and any(
            is_told(found["j"], (one.ratio, one.ratio_low, one.ratio_high), datum=1.0)
            and (one.ratio or 0.0) <= (most.ratio or 0.0)
            for one in alike
        ):
            return True
    return False


def _rate_change(firm: RandomFirm, found: Found) -> bool:
    one = next(one for one in firm.of(RunChange) if one.kind == "rate")
    parts = (one.value, one.low, one.high), (one.value_before, one.low_before, one.high_before)
    is_one = one.low <= one.high_before and one.low_before <= one.high
    apart = 0 if is_one else 1 if one.value > one.value_before else -1
    said = {"that could be chance": 0, "more often than then": 1, "less often than then": -1}[found["w"]]
    return said == apart and all(is_told(*both) for both in zip((found["i"], found["j"]), parts, strict=True))


def _changed_causes(firm: RandomFirm, found: Found) -> bool:
    rows = [one for one in firm.of(RunChange) if one.kind == "cause"]
    now = found["w"].startswith("now")
    strong = {one.words for one in rows if (one.state if now else one.state_before) == "strong"}
    return set(names_in(found["t"], D)) <= strong


def _changed_crews(firm: RandomFirm, found: Found) -> bool:
    rows = {f"crew {one.crew}": one for one in firm.of(RunChange) if one.kind == "crew"}
    for before, often, name in names_in(found["t"], rf"(?:(called back (more|less) often: )?({K}))"):
        one = rows[name]
        now = agreed(one.state, one.low, one.high)
        then = agreed(one.state_before, one.low_before, one.high_before)
        if before and now != {"more": 1, "less": -1}[often]:
            return False
        if not before and (now or not then):
            return False
    return True


def _most_out(firm: RandomFirm, found: Found) -> bool:
    used = [one for one in firm.of(LimitCount) if one.status == "in use" and one.doors - one.not_recorded >= 10]
    share = max(one.out / (one.doors - one.not_recorded) for one in used)
    named = next(one for one in used if one.limit == found["d"])
    level = {one.limit for one in used if one is not named and one.out_high >= named.out_low}
    told = re.findall(r"bound \d", found["t"] or "")
    more = re.search(r"and (\d+) more", found["t"] or "")
    return (
        named.out / (named.doors - named.not_recorded) == share
        and is_told(found["i"], (named.out_share, named.out_low, named.out_high), 100)
        and set(told) <= level
        and len(told) + (int(more[1]) if more else 0) == len(level)
    )


CLAIMS: tuple[tuple[str, Check], ...] = (
    (r"Limits that the records would move: (?P<t>[^.]+)", lambda firm, m: _moved(firm, m["t"])),
    (
        r"Where risk begins: the records give no reason to move a limit",
        lambda firm, m: not any(one.advice in ("tighten", "loosen") for one in firm.of(LimitAdvice)),
    ),
    (
        rf"(?P<f>{F}) with “(?P<d>{D})”: 1\.5 times as often from (?P<i>{T})(?P<down> down)?",
        lambda firm, m: any(
            is_told(m["i"], (one.limit_risk_1_5, one.limit_low, one.limit_high))
            and bool(m["down"]) == (one.worse == "lower")
            for one in firm.of(LimitAdvice)
            if (one.words, one.fault_words) == (m["d"], m["f"].lower())
        ),
    ),
    (
        rf"At the limit in use, {N} mm, it comes back (?P<i>{T}) as often",
        lambda firm, m: any(
            is_told(m["i"], (one.hazard_ratio, one.hr_low, one.hr_high), datum=1.0) for one in firm.of(CurvePoint)
        ),
    ),
    (rf"Tighten from (?P<now>{N}) mm, in steps", lambda firm, m: _advice(firm, m, "tighten")),
    (rf"May be loosened from (?P<now>{N}) mm (?:up|down) to", lambda firm, m: _advice(firm, m, "loosen")),
    (
        r"Not alike everywhere: (?P<t>[^.]+)",
        lambda firm, m: (
            set(names_in(m["t"], rf"({D}) → ({F}) by (\w+)"))
            <= {(one.words, one.fault_words, one.by) for one in firm.of(EffectPart) if one.verdict == "differs"}
        ),
    ),
    (
        r"No effect is shown to differ between crews, materials or seasons",
        lambda firm, m: all(one.verdict != "differs" for one in firm.of(EffectPart)),
    ),
    (rf"Stronger (?P<w>[^,]+), (?P<i>{T}) as often, against (?P<j>{T})", _differs),
    (
        rf"Differs between crews: for all (?:{T} as often|not known); spread (?:a factor of {N}|none seen)"
        rf"(?:, at most {N})?\. See first that crews read it the same way, then what those do whom it spares",
        lambda firm, m: any(one.verdict == "differs" and one.by == "crew" for one in firm.of(EffectPart)),
    ),
    (rf"Differs between crews: for all [^;]+; most in {K}, (?P<i>{T}) as often, against (?P<j>{T})", _differs),
    (
        rf"Most often out is (?P<d>bound \d): (?P<i>{T}) of {N} doors? with readings(?:; for {N} the instrument "
        r"cannot tell)?(?:; (?P<t>[^;.]+) may be out as often)?",
        _most_out,
    ),
    (
        rf"No limit is passed for certain on any of {N} doors? with readings",
        lambda firm, m: (
            not any(
                one.out for one in firm.of(LimitCount) if one.status == "in use" and one.doors - one.not_recorded >= 10
            )
        ),
    ),
    (
        rf"Callbacks per 100 door-years: (?P<i>{T}), then (?P<j>{T}); (?P<w>that could be chance|more often than then|"
        r"less often than then)",
        _rate_change,
    ),
    (r"Strong evidence (?P<w>now and not then|then and no longer): (?P<t>(?:[^.]|\.\d)+)", _changed_causes),
    (r"Told apart from the firm (?:now and not then,|then and no longer:) (?P<t>[^.]+)", _changed_crews),
)
