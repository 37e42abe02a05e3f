"""What the letter and the causes sheet claim of causes, sentence by sentence, and what must be so."""

import re

from pipeline.report.rows.dose_rows import LimitAdvice
from pipeline.report.rows.example_rows import ExampleDoor
from pipeline.report.rows.first_cause_rows import FirstCause
from pipeline.report.rows.table_rows import Effect
from tests.report.random_firm import RandomFirm
from tests.report.told_claims import (
    STEP,
    Check,
    D,
    F,
    Found,
    N,
    T,
    causes,
    is_told,
    names_in,
    number_of,
    pair,
    side_of,
    tells_ratio,
    tells_spared,
)  # fmt: skip

P = rf"(?P<d>{D}) → (?P<f>{F})"
EVIDENCE = ("strong", "suggestive", "none", "too_few")
ANSWERED = EVIDENCE[:3]
FIRST = rf"(?:(?P<n>\w+) causes stand out, first|One cause stands out:) “(?P<d>{D})”: "


def _all(firm: RandomFirm, *evidence: str) -> list[Effect]:
    """Causes with that evidence, wherever their interval lies."""
    return [one for one in firm.of(Effect) if one.role == "cause" and one.evidence in (evidence or EVIDENCE)]


def _deviations(found: list[Effect]) -> set[str]:
    return {one.words for one in found}


def _n_first(firm: RandomFirm, found: Found) -> bool:
    """As many causes stand out as are said to."""
    return (number_of(found["n"]) if found["n"] else 1) == len(_deviations(causes(firm, "strong")))


def _tried(firm: RandomFirm, found: Found) -> bool:
    """Every pair is counted under what came of it."""
    said = {words: number_of(number) for number, words in _counts(found["t"])}
    names = {"strong": "strong evidence", "suggestive": "a hint", "none": "nothing"}
    real = {words: len(_all(firm, evidence)) for evidence, words in names.items()}
    return said == {words: number for words, number in real.items() if number} and (
        number_of(found["few"] or "no") == len(_all(firm, "too_few"))
    )


def _counts(text: str) -> list[tuple[str, str]]:
    return re.findall(rf"({N}) (?:shows? )?(strong evidence|a hint|nothing)", text)


def _stand(firm: RandomFirm, found: Found) -> bool:
    """What is said to stand or fall without the readings in doubt does."""
    shown = _all(firm, "strong", "suggestive")
    few = [one for one in shown if one.ratio_without_doubtful is None or one.contrast_ratio is None]
    turned = [
        one for one in shown if one not in few
        and ((one.ratio_without_doubtful or 0) >= 1) != ((one.contrast_ratio or 0) >= 1)
    ]  # fmt: skip
    n_all = number_of(found["all"] or "one")
    n_standing = number_of(found["standing"]) if found.get("standing") else n_all
    named = ((found.get("turned") or "", turned), (found.get("few") or "", few))
    return (
        n_all == len(shown) == n_standing + len(few) + len(turned)
        and all(bool(text) == bool(rows) for text, rows in named)
        and all(set(names_in(text, D)) <= {one.words for one in rows} for text, rows in named)
    )


def _best(firm: RandomFirm) -> set[str]:
    """Deviations that clearly spare something a firm would notice."""
    return _deviations(
        [one for one in causes(firm, "strong") if side_of(one.avoidable_low, one.avoidable_high, 0.0) > 0]
    )


def _hardly(one: Effect) -> bool:
    return one.avoidable_high is not None and max(abs(one.avoidable_low or 0.0), one.avoidable_high) < 0.1


def _flow(firm: RandomFirm, found: Found) -> bool:
    strong, hints = causes(firm, "strong"), causes(firm, "suggestive")
    faults = {one.fault for one in strong}
    more = {one.fault for one in hints} - faults
    seen = {one.fault for one in firm.of(Effect)}
    return (
        number_of(found["n"]) == len(faults)
        and number_of(found["m"]) == len({one.step for one in strong})
        and number_of(found["h"] or "no") == len(more)
        and number_of(found["o"] or "no") == len(seen - faults - more)
    )


def _firsts(firm: RandomFirm) -> list[FirstCause]:
    return [one for one in firm.of(FirstCause) if one.deviation != "unexplained"]


def _first(firm: RandomFirm, found: Found) -> bool:
    named = next(one for one in _firsts(firm) if one.words == found["d"].lower())
    rest = sum(one.first for one in firm.of(FirstCause) if one.deviation == "unexplained")
    return (
        named.first == number_of(found["n"]) == max(one.first for one in _firsts(firm))
        and number_of(found["all"]) == named.callbacks
        and number_of(found["rest"]) == rest
        and _is_marked(named, found)
    )


def _is_marked(named: FirstCause, found: Found) -> bool:
    """What the trade expects and the records do not show is said to be so, and nothing else is."""
    return bool(found["e"]) == (named.shown < named.share / 2)


def _dearest(firm: RandomFirm, found: Found) -> bool:
    dearest = max(_firsts(firm), key=lambda one: one.cost or 0.0)
    return dearest.words == found["d"] and _is_marked(dearest, found)


def _examples(firm: RandomFirm, found: Found) -> bool:
    counts = {one.kind: one.doors_alike for one in firm.of(ExampleDoor) if one.pair == 1}
    return (
        pair(firm, found, "strong") is not None
        and number_of(found["n"]) == sum(counts.values())
        and number_of(found["k"]) == counts.get("came back", 0)
    )


def _worths(firm: RandomFirm) -> dict[str, tuple[float, float, float]]:
    """What each shown cause spares a year for its best fault, as (estimate, low, high): in money where it is known."""
    known = [
        one for one in causes(firm, "strong")
        if side_of(one.avoidable_low, one.avoidable_high, 0.0) > 0 and one.avoidable_high >= 0.1
    ]  # fmt: skip
    priced = [one for one in known if one.avoidable_cost_per_year]
    found: dict[str, tuple[float, float, float]] = {}
    for one in priced or known:
        each = one.avoidable_cost_per_year / one.avoidable_per_year if priced else 1.0
        worth = (each * one.avoidable_per_year, each * one.avoidable_low, each * one.avoidable_high)
        found[one.words] = max(worth, found.get(one.words, worth))
    return found


def _is_price(firm: RandomFirm, found: Found) -> bool:
    """Where money is told, it is that of the callbacks of some pair of the cause, at what one of them costs."""
    rows = [one for one in causes(firm, "strong") if one.words == found["d"].lower() and one.avoidable_cost_per_year]
    return found["m"] is None or any(
        is_told(
            found["m"], tuple(each * part for part in (one.avoidable_per_year, one.avoidable_low, one.avoidable_high))
        )
        for one in rows
        for each in (one.avoidable_cost_per_year / one.avoidable_per_year,)
    )


def _worth_most(firm: RandomFirm, found: Found) -> bool:
    """No other cause is worth more, and all that may be worth as much are named or counted."""
    worths = _worths(firm)
    name = found["d"].lower()
    first = worths[name]
    level = {other for other, worth in worths.items() if other != name and worth[2] >= first[1]}
    named = set(names_in(found["level"] or "", D))
    more = re.search(r"(\d+) more", found["level"] or "")
    return (
        first == max(worths.values()) and _is_price(firm, found) and tells_spared(firm, found)
        and named <= level and len(named) + (int(more[1]) if more else 0) == len(level)
    )  # fmt: skip


def _found_table(firm: RandomFirm, found: Found) -> bool:
    """As many faults and causes as are shown, or, where none is, hinted at."""
    shown = causes(firm, "suggestive" if found["w"] else "strong")
    counts = len({one.fault for one in shown}), len(_deviations(shown))
    moved = sum(one.advice in ("tighten", "loosen") for one in firm.of(LimitAdvice))
    return (number_of(found["f"]), number_of(found["c"])) == counts and number_of(found["l"]) == moved


CLAIMS: tuple[tuple[str, Check], ...] = (
    (
        rf"{FIRST}about (?P<i>{T}) callbacks a year for (?P<f>{F}) go with it",
        lambda firm, m: _n_first(firm, m) and tells_spared(firm, m),
    ),
    (
        rf"{FIRST}(?P<f>{F}) comes back (?P<i>{T}) as often with it",
        lambda firm, m: _n_first(firm, m) and tells_ratio(firm, m, "strong"),
    ),
    (
        rf"No cause is shown for certain yet; the records hint at (?P<n>\w+), first {P}, (?P<i>{T}) as often",
        lambda firm, m: (
            not causes(firm, "strong")
            and number_of(m["n"]) == len(causes(firm, "suggestive"))
            and tells_ratio(firm, m, "suggestive")
        ),
    ),
    (
        rf"Nothing measured can be tied to the callbacks: none of (?P<n>{N}) pairs? with enough records stands out",
        lambda firm, m: not causes(firm, "strong", "suggestive") and number_of(m["n"]) == len(_all(firm, *ANSWERED)),
    ),
    (
        r"The records cannot say yet what causes callbacks: no pair of a deviation and a fault has enough of them",
        lambda firm, m: not _all(firm, *ANSWERED),
    ),
    (
        r"No fault has been called back on a door with records, so nothing can be tied to a cause yet",
        lambda firm, m: not firm.of(Effect),
    ),
    (
        rf"Of {N} pairs? of a deviation and a fault (?P<t>{N} [^.;]+?)(?:; for (?P<few>{N}) the records are too few "
        r"to tell)?\.",
        _tried,
    ),
    (
        rf"Of {N} pairs? of a deviation and a fault none can be told yet: the records are too few",
        lambda firm, m: not _all(firm, *ANSWERED),
    ),
    (
        rf"are in doubt \(sheet 5, Records\); with them left out (?:all (?P<all>{N}) findings stand|the one finding "
        r"stands) in the same direction",
        _stand,
    ),
    (
        rf"are in doubt \(sheet 5, Records\); with them left out (?P<standing>\w+) of (?P<all>{N}) findings? stands?"
        rf"(?:; turned round: (?P<turned>(?:{D} → {F}|, | and |{N} more)+))?"
        rf"(?:; too few doors left to tell: (?P<few>(?:{D} → {F}|, | and |{N} more)+))?",
        _stand,
    ),
    (r"are in doubt \(sheet 5, Records\); no cause is claimed", lambda firm, m: not _all(firm, "strong", "suggestive")),
    (r"Most to gain from: (?P<t>[^.]+)", lambda firm, m: set(names_in(m["t"], D)) <= _best(firm) and "gizmo" in m["t"]),
    (
        r"Nothing clearly comes first yet",
        lambda firm, m: (
            not {
                one.words
                for one in causes(firm, "strong")
                if side_of(one.avoidable_low, one.avoidable_high, 0.0) > 0 and not _hardly(one)
            }
        ),
    ),
    (
        rf"which brought {N} callbacks for (?P<f>{F}) a year that crews answer for: about (?P<i>{T}) of them go with "
        rf"“(?P<d>{D})”",
        tells_spared,
    ),
    (
        rf"A hint: (?P<f>{F}) comes back (?P<i>{T}) as often with “(?P<d>{D})”",
        lambda firm, m: not causes(firm, "strong") and tells_ratio(firm, m, "suggestive"),
    ),
    (
        rf"(?P<f>{F}) comes back (?P<r>{T}) as often with “(?P<d>{D})”; about (?P<i>{T}) callbacks a year could be "
        "spared with every door at its limit",
        lambda firm, m: tells_ratio(firm, m | {"i": m["r"]}, "strong") and tells_spared(firm, m),
    ),
    (
        rf"(?P<f>{F}) comes back (?P<i>{T}) as often with “(?P<d>{D})”(?:; (?:hardly a callback a year is at stake, as "
        rf"few doors pass the limit|how many callbacks that is a year (?:is not clear: {T}|cannot be told yet)))?",
        lambda firm, m: tells_ratio(firm, m, "strong"),
    ),
    (
        r"No fault comes back clearly more often with any deviation",
        lambda firm, m: not causes(firm, "strong", "suggestive"),
    ),
    (
        r"No fault is traced to a step of the work yet; there are hints for (?P<n>\w+)",
        lambda firm, m: (
            not causes(firm, "strong") and number_of(m["n"]) == len({one.fault for one in causes(firm, "suggestive")})
        ),
    ),
    (
        r"(?P<n>\w+) faults? (?:is|are) traced to (?P<m>\w+) steps? of the work(?:; a hint only for (?P<h>\w+) more)?"
        r"(?:; no cause is shown for (?P<o>\w+) more)?",
        _flow,
    ),
    (
        rf"If these are causes, a (?P<s>{STEP}) step done better helps against \w+ faults: (?P<t>[^.]+)",
        lambda firm, m: (
            set(names_in(m["t"], F)) <= {one.fault_words for one in causes(firm, "strong") if one.step == m["s"]}
        ),
    ),
    (
        rf"Of (?P<n>{N}) doors? that show “(?P<d>{D})” the most, (?P<k>{N}) came back with (?P<f>{F}): "
        r"(?:up to )?five of each kind to look at",
        _examples,
    ),
    (
        rf"First cause most often: (?P<d>{D})(?P<e> \(expected only\))?, in (?P<n>{N}) of (?P<all>{N}) callbacks?; in "
        rf"(?P<rest>{N}) no cause accounts for a fifth",
        _first,
    ),
    (
        rf"In none of {N} callbacks? does a cause account for a fifth",
        lambda firm, m: not any(one.first for one in _firsts(firm)),
    ),
    (
        rf"Of all callbacks together (?P<i>{T}) go with no cause that has evidence",
        lambda firm, m: any(
            is_told(m["i"], (one.share, one.share_low, one.share_high), 100)
            for one in firm.of(FirstCause)
            if one.deviation == "unexplained"
        ),
    ),
    (
        rf"By cost (?P<d>{D})(?P<e> \(expected only\))? comes first: .+?, {N} % of the known cost of {N} callbacks?",
        _dearest,
    ),
    (
        rf"Begin with what stands high in this figure and in that of callbacks spared: “(?P<d>{D})”",
        lambda firm, m: m["d"] in _best(firm) and any(one.words == m["d"] and one.first for one in _firsts(firm)),
    ),
    (
        rf"Begin with “(?P<d>{D})”",
        lambda firm, m: any(one.words == m["d"] and one.first for one in _firsts(firm)),
    ),
    (
        rf"Begin here: mend (?P<d>{D})\. That could spare about (?P<i>{T}) callbacks a year",
        tells_spared,
    ),
    (
        rf"Begin here: mend (?P<d>{D})\. (?P<f>{F}) comes back (?P<i>{T}) as often without it",
        lambda firm, m: tells_ratio(firm, m, "strong"),
    ),
    (
        r"Callbacks are seen to begin in (?P<n>\w+) steps? of the work: (?P<t>[^.]+)",
        lambda firm, m: (
            set(names_in(m["t"], STEP)) == {one.step for one in causes(firm, "strong")}
            and number_of(m["n"]) == len({one.step for one in causes(firm, "strong")})
        ),
    ),
    (
        rf"Worth most: mend (?P<d>{D})\. On every door, that could spare (?:[A-Z]* ?(?P<m>{T}) a year: )?about "
        rf"(?P<i>{T}) callbacks for (?P<f>{F})(?: a year)?\.(?: Putting right (?P<level>[^.]+) may be worth as much)?",
        _worth_most,
    ),
    (
        r"(?P<f>\w+) faults? and (?P<c>\w+) (?P<w>possible )?root causes?, with the limit of each: (?P<l>\w+) "
        "limits? to move",
        _found_table,
    ),
    (r"No step of the work is shown to bring callbacks yet", lambda firm, m: not causes(firm, "strong")),
    (
        rf"Cost a year that could be spared: (?:[A-Z]* ?(?P<m>{T})) with “(?P<d>{D})”"
        "(?P<o>, then the others|; others may spare as much)?",
        lambda firm, m: m["d"] in _best(firm) and _is_price(firm, m),
    ),
    (
        rf"{P}: (?P<i>{T}) as often, [^.]*(?:\.\d[^.]*)*\. Have the readings of a few of these doors checked",
        lambda firm, m: any(
            side_of(one.contrast_low, one.contrast_high) < 0
            and is_told(m["i"], (one.contrast_ratio, one.contrast_low, one.contrast_high), datum=1.0)
            for one in _all(firm, "suggestive")
            if (one.words, one.fault_words) == (m["d"], m["f"])
        ),
    ),
)
