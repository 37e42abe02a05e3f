"""A column of callbacks that asks whether they were one party's fault: under Our fault?, a yes says installation.

A no says only whose it was not: it stays as written, to be set aside with what to write. How logs ask so is common
practice, no source.
"""

from pipeline.ingest.matching.columns.evidence import Evidence, is_tick
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.own_words import own_words
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.listed_answers import listed_letters
from pipeline.ingest.matching.words.vocabulary import meant_by, outcome_of, trade_words
from pipeline.ingest.records import CALLBACKS

_BLAME = "responsibility"
# Without one of these a heading of ticks says what was done, and nobody's fault: Parts, Fitted.
_ASKS = ("fault", "error", "mistake", "blame", "responsib", "liab", "down to", "defect")


def asked_of(record: str, column: str, heading: str, layout: Layout) -> str | None:
    """Whose fault a yes under a heading (folded) says it was; None where it asks no such thing, or two columns do."""
    if (record, column) != (CALLBACKS.name, _BLAME) or not _party(layout, heading):
        return None
    return _party(layout, heading) if sum(bool(_party(layout, one)) for one in layout.evidence) == 1 else None


def _party(layout: Layout, heading: str) -> str | None:
    evidence = layout.evidence[heading]
    text = layout.lowest(heading).strip(" ?").casefold()
    if not any(word in text for word in _ASKS) or not any(map(_is_yes, evidence.texts)):
        return None
    return meant_by(text, trade_words(_BLAME)) if all(map(is_tick, evidence.texts)) else None


def words_under(
    record: str, column: str, heading: str, layout: Layout, evidence: Evidence
) -> tuple[tuple[str, str], ...]:
    """The firm's own words under a heading: a yes where it asks whose fault it was, letters where it lists answers.

    evidence  of the cells under it, in one sheet or in all that are headed alike
    """
    party = asked_of(record, column, heading, layout)
    yes = tuple((text, party) for text in sorted(evidence.texts) if party and _is_yes(text))
    short = listed_letters(column, without_number(layout.said(heading)), evidence.texts)
    return yes or (*own_words(column, evidence), *short)


def _is_yes(text: str) -> bool:
    return outcome_of(text) == "pass"
