"""Blanks that stand together: what doors of one job share is written once, in the row of the first of them.

Whose job it is, for whom and by which crew is then blank in the very same rows. One such cell alone may as well be
unknown; all of them together, again and again, are the same as above, unless another fact of the job is written there
that is not the one above. Common practice, no source.
"""

from itertools import groupby, pairwise

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.elimination import days_under
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.records import INSTALLS

# What doors of one job have in common, and of these what no two jobs have.
_SHARED = ("job_no", "crew", "customer", "address", "postcode", "product", "material", "colour")
_OF_ONE_JOB = ("job_no", "customer")
# Of these, doors of one job have one each.
_WHOSE = (*_OF_ONE_JOB, "address", "postcode")
# Of these, what is known of every job: its number and its crew may be wanting where the office has not heard of them.
_KNOWN = ("customer", "address")
# So many blanks, in so many places, are no slips of the pen.
_FEWEST_BLANKS, _FEWEST_RUNS = 3, 2
# The doors of one job are fitted within so many days of one another.
_SOON = 31

_Blanks = tuple[bool, ...]


def fill_together(proposal: Proposal) -> None:
    """Fills from above what is blank in the very rows in which other facts of a job are, once these are the job's."""
    layout, columns = proposal.layout, proposal.columns[INSTALLS.name]
    headings = {name: columns[name].heading for name in _SHARED if name in columns and not columns[name].joined}
    blanks = {
        name: tuple(not text for text in layout.cells.texts(folded(heading)))
        for name, heading in headings.items()
        if heading
    }
    as_above = {blanks[name] for name in blanks if headings[name] in proposal.fill_down}
    if "crew" in blanks and _are_of_jobs(layout, blanks, headings, proposal):
        as_above.add(blanks["crew"])
    as_above = {mine for mine in as_above if not _are_of_others(layout, mine, blanks, headings)}
    for name, mine in blanks.items():
        heading = headings[name]
        if sum(mine) >= _FEWEST_BLANKS and mine in as_above and heading and heading not in proposal.fill_down:
            proposal.fill_down.append(heading)


def _are_of_jobs(
    layout: Layout, blanks: dict[str, _Blanks], headings: dict[str, str | None], proposal: Proposal
) -> bool:
    """Whether crews are blank in the rows in which a job is that is never written twice, all fitted one soon after."""
    mine = blanks["crew"]
    if not any(blanks.get(one) == mine for one in _KNOWN):
        return False
    jobs = [layout.evidence[folded(str(headings[one]))] for one in _OF_ONE_JOB if blanks.get(one) == mine]
    runs = sum(is_blank for is_blank, _ in groupby(mine))
    if sum(mine) < _FEWEST_BLANKS or runs < _FEWEST_RUNS or mine[0]:
        return False
    if not any(one.distinct == one.filled > 1 for one in jobs):
        return False
    day = proposal.columns[INSTALLS.name]["fitted_on"].heading
    days = days_under(layout, [folded(day)])[0] if day else []
    rows = zip(mine[1:], pairwise(days), strict=False)
    return all(a is None or b is None or abs((b - a).days) <= _SOON for is_blank, (a, b) in rows if is_blank)


def _are_of_others(layout: Layout, mine: _Blanks, blanks: dict[str, _Blanks], headings: dict[str, str | None]) -> bool:
    """Whether a row of these blanks names another job, customer or address than the row above it."""
    for name in (one for one in _WHOSE if one in blanks and blanks[one] != mine):
        texts = [text.casefold() for text in layout.cells.texts(folded(str(headings[name])))]
        if any(
            is_blank and here and here != above
            for is_blank, (above, here) in zip(mine[1:], pairwise(texts), strict=True)
        ):
            return True
    return False
