"""Logs whose own numbers begin anew in every sheet or file: January's call 1 and February's are two calls.

Such a number tells no call from another. How firms number their logs is common practice, no source.
"""

from collections.abc import Iterable

from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.records import CALLBACKS

# What is known of a call once it is reported: where these differ, it is another call.
_SAID_OF_A_CALL = ("install_id", "job_no", "customer", "reported_on", "note")
# Of the numbers that stand in two sheets, so many are of different calls.
_MOSTLY = 0.5
_NUMBER = CALLBACKS.key[0]
_Calls = dict[str, tuple[str, ...]]


def restarted(logs: Iterable[tuple[Proposal, list[Layout]]]) -> frozenset[tuple[str, ...]]:
    """The headings of logs that number different calls alike in several of their sheets, of all files together."""
    sheets: dict[tuple[str, ...], list[_Calls]] = {}
    for proposal, layouts in logs:
        columns = proposal.columns.get(CALLBACKS.name, {})
        if _NUMBER in columns and columns[_NUMBER].heading is not None:
            sheets.setdefault(proposal.layout.named, []).extend(_calls(columns, layout) for layout in layouts)
    return frozenset(named for named, calls in sheets.items() if _are_of_others(calls))


def _calls(columns: dict[str, Source], layout: Layout) -> _Calls:
    """What each number of a sheet says of its call."""
    headings = [columns[name].heading for name in (_NUMBER, *_SAID_OF_A_CALL) if name in columns]
    numbers, *said = (layout.cells.texts(folded(heading)) for heading in headings if heading)
    return {number: tuple(texts) for number, *texts in zip(numbers, *said, strict=True) if number}


def _are_of_others(sheets: list[_Calls]) -> bool:
    """Whether most numbers that stand in two sheets are of two calls."""
    first: _Calls = {}
    again = different = 0
    for calls in sheets:
        for number, said in calls.items():
            if number in first:
                again += 1
                different += said != first[number]
        first = {**calls, **first}
    return different > _MOSTLY * again
