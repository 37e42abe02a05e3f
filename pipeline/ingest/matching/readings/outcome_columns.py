"""Checks with a column for each outcome, OK and Not OK and N/A, of which one is marked."""

from collections.abc import Mapping

from pipeline.ingest.declared.mapping import Each
from pipeline.ingest.matching.columns.evidence import Evidence, is_tick
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.sheet.headings import JOINT, without_number
from pipeline.ingest.matching.words.meaning import SURE, Meaning, check_meaning, of_ticks
from pipeline.ingest.matching.words.vocabulary import outcome_of
from pipeline.ingest.records import CHECKS

_DENIED = frozenset({"no", "n", "not ok", "fail", "failed", "f", "false"})


def outcome_said(heading: str) -> tuple[str, str] | None:
    """(outcome, the rest of the heading) of a heading under or over which an outcome stands; None where none does."""
    upper, _, lower = without_number(heading).rpartition(JOINT)
    outcome = outcome_of(lower)
    return (outcome, upper) if outcome and upper else None


def with_outcomes(found: Mapping[str, Proposed], layout: Layout) -> dict[str, Proposed]:
    """The entries, where headings stand for outcomes with the outcome that a mark under each says.

    A heading for failing alone, or for passing, is no such column.
    """
    said = {heading: outcome_said(layout.written(heading)) for heading in layout.evidence}
    marked = {heading: one for heading, one in said.items() if one and are_marks(layout.evidence[heading])}
    if not {"pass", "fail"} <= {outcome for outcome, _ in marked.values()}:
        # a check is no check where its heading says that it failed; of a reading N is the unit
        return {
            heading: one
            for heading, one in found.items()
            if one.record != CHECKS.name or not _says_failed(said.get(heading))
        }
    made = {heading: one for heading, one in found.items() if heading not in marked}
    meant = {heading: _check_of(what) for heading, (_, what) in marked.items()}
    failing = [meant[heading] for heading, (outcome, _) in marked.items() if outcome == "fail"]
    named = {one.name for one in failing if one}
    for heading, (outcome, _) in marked.items():
        meaning = meant[heading]
        # a check would only ever pass whose box for failing is one that was not understood
        if meaning is None or (None in failing and meaning.name not in named):
            continue
        fixed = [("check", meaning.name), ("outcome", outcome)]
        fixed += [("member", meaning.place.member)] if meaning.place.member else []
        why = f"names {meaning.name}; a mark under it says {outcome}"
        made[heading] = Proposed("checks", Each(layout.written(heading), None, tuple(fixed)), "", why, meaning.sure)
    return made


def _check_of(what: str) -> Meaning | None:
    """The check that stands over or before a box; None where it is in doubt."""
    meaning = check_meaning(what)
    meaning = of_ticks(meaning) if meaning else None
    return meaning if meaning and meaning.sure >= SURE else None


def _says_failed(said: tuple[str, str] | None) -> bool:
    return said is not None and said[0] != "pass"


def are_marks(evidence: Evidence) -> bool:
    """Whether cells are marks, of which none denies what stands over it."""
    return not evidence.texts & _DENIED and all(is_tick(text) or text in ("1", "/") for text in evidence.texts)
