"""Sheets of what an office keeps beside its doors that look like a log of calls: a job, a date, a remark.

Invoices, deliveries, surveys and quotations have them as well; where nothing says that somebody called, such a sheet is
none. What offices keep is common practice, no source.
"""

from pipeline.ingest.declared.mapping import Source
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.words.vocabulary import words_in, words_of
from pipeline.ingest.records import CALLBACKS, INSTALLS

_PAPERS = frozenset({
    "invoice", "invoices", "invoiced", "paid", "payment", "payments", "deposit", "deposits", "quote", "quotes",
    "quoted", "quotation", "quotations", "estimate", "estimates", "estimated", "delivery", "deliveries", "delivered",
    "supplier", "suppliers", "surveyed", "surveys", "stock", "purchase", "purchases", "enquiry", "enquiries", "leads",
    "permit", "permits",
})  # fmt: skip
_CALLS = frozenset({
    "callback", "complaint", "complaints", "fault", "faults", "defect", "defects", "problem", "problems", "snag",
    "snags", "snagging", "remedial", "remedials", "aftercare", "warranty", "guarantee", "repair", "repairs", "reported",
    "calls", "services", "maintenance", "issue", "issues", "visited",
})  # fmt: skip
# Columns that only a call has; a bare day and a bare remark stand in many sheets.
OF_A_CALL = ("fault", "responsibility", "visited_on", "hours", "logged_on")
# What was said, or of which door or whom; a log of training has a day and hours, and none of these.
_WHAT_OR_WHERE = frozenset({"note", "fault", "install_id", "job_no", "customer"})
_OF_DOORS = frozenset({"product", "material", "colour", "leaves", "width_mm", "height_mm", "customer", "work"})
_BARE = frozenset({
    "date", "when", "note", "notes", "remark", "remarks", "comment", "comments", "details", "description", "info",
})  # fmt: skip


def is_other_paper(layout: Layout, placed: dict[str, Placed]) -> bool:
    """Whether a sheet names itself or a column after such a paper, and nothing of it says that somebody called.

    placed  what would be the columns of callbacks
    """
    words = words_in([*layout.titles, *(text for text in layout.heads.written if text)])
    if not _PAPERS & words or _CALLS & words or any(name in placed for name in OF_A_CALL):
        return False
    said = [placed[name].heading for name in ("reported_on", "note") if name in placed]
    return all(set(words_of(layout.lowest(one))) <= _BARE for one in said if one in layout.evidence)


def says_more_than_training(columns: dict[str, dict[str, Source]]) -> bool:
    """Whether callbacks or doors, where a sheet has them, say what a log of training cannot: what for, of which door.

    columns  by record and column
    """
    has = (columns.get(name, {}).keys() for name in (CALLBACKS.name, INSTALLS.name))
    return all(not names or bool(names & own) for names, own in zip(has, (_WHAT_OR_WHERE, _OF_DOORS), strict=True))
