"""The part of the methods sheet about strong claims on simulated firms."""

from pipeline.report.claims import Claims, Study
from pipeline.report.numbers import count, number
from pipeline.report.sheet import Passage, Table
from pipeline.report.words import claims as words

COLUMNS = (
    "kind of firm",
    "firms",
    "strong claims",
    "interval holds the truth (95 %)",
    "stood on nothing",
    "found over true",
)


def claims_passage(study: Study) -> Passage:
    """How often strong claims hold."""
    return Passage("claims", words.says(study), (words.how(study), words.do(study)))


def claims_table(study: Study) -> Table:
    """The same by kind of firm."""
    rows = (_cells("all of them", study.whole), *(_cells(words.kind(each), each) for each in study.scenarios))
    says = "The table behind: strong claims by kind of simulated firm"
    return Table("claims-table", says, COLUMNS, rows, "", frozenset({1, 2, 4, 5}))


def _cells(name: str, claims: Claims) -> tuple[str, ...]:
    return (
        name,
        count(claims.firms),
        count(claims.claims),
        claims.held_share.words(100, " %"),
        count(claims.false),
        number(claims.found_over_true, 2) if claims.found_over_true is not None else "",
    )
