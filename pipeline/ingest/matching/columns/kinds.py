"""A log that holds callbacks among other entries: the kinds of entry that are none, by the words of their column."""

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.contents import KINDS
from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words, words_of

_OF_A_LOG = KINDS | {
    "callback", "log", "entry", "record", "enquiry", "request", "reported", "visited", "job", "ticket", "item", "query",
}  # fmt: skip
_MOST_KINDS = 30


def kinds_left_out(layout: Layout, taken: set[str]) -> dict[str, list[str]]:
    """By heading (as written) the cells that say a row is no callback, where other rows are said to be one.

    taken  headings that mean something else
    """
    for heading, evidence in layout.evidence.items():
        words = set(words_of(layout.lowest(heading)))
        if heading in taken or not words & KINDS or words - _OF_A_LOG or evidence.distinct > _MOST_KINDS:
            continue
        meant = {text: meant_by(text, trade_words("kind")) for text in layout.cells.texts(heading) if text}
        if {"callback", "no_callback"} <= set(meant.values()):
            others = {folded(text): text for text, kind in meant.items() if kind == "no_callback"}
            return {layout.written(heading): sorted(others.values())}
    return {}
