"""Sheets that could be made into another record, though all but a few of their columns speak of doors.

A list of doors whose day of fitting is not understood is no list of instruments for its Number and Type, and a list of
what was measured is no log of calls for its remarks. How such sheets look is common practice, no source.
"""

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.office_papers import OF_A_CALL
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.readings.wide import propose_each
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.records import CALLBACKS, CREWS, INSTALLS, INSTRUMENTS, READINGS, TRAINING

_BESIDE_DOORS = frozenset({INSTRUMENTS.name, CREWS.name, TRAINING.name})
_OF_DOORS = frozenset({"customer", "address", "postcode", "width_mm", "height_mm", "leaves", "fitted_on"})
_FEWEST_FACTS, _FEWEST_READ = 3, 3
_MOSTLY = 0.5


def is_rather_of_doors(one: Proposal, doors: Proposal, catalogue: Catalogue) -> bool:
    """Whether a proposal makes something else of a sheet that says more of doors, or that is mostly readings.

    doors  the proposal for the same sheet as one of doors, made or only drafted
    """
    made = one.columns.keys()
    if made & _BESIDE_DOORS:
        facts = (doors.columns or (doors.draft.columns if doors.draft else {})).get(INSTALLS.name, {})
        return len(facts.keys() & _OF_DOORS) >= _FEWEST_FACTS and len(facts) > len(one.placed)
    is_unnumbered = CALLBACKS.name in made and one.columns[CALLBACKS.name][CALLBACKS.key[0]].from_row
    return is_unnumbered and _n_read(one.layout, catalogue) >= max(_FEWEST_READ, len(one.placed))


def is_list_of_readings(layout: Layout, placed: dict[str, Placed]) -> bool:
    """Whether rows with a number, a door and a day hold what was read, in a unit, and nothing speaks of a call.

    placed  what would be the columns of callbacks, or of instruments
    """
    note = layout.evidence[placed["note"].heading] if "note" in placed else None
    is_noted = note is not None and note.blank < _MOSTLY
    if is_noted or any(name in placed for name in OF_A_CALL):
        return False
    found = assign(READINGS, layout).placed
    is_whole = {"install_id", "value", "unit"} <= found.keys()
    return is_whole and layout.evidence[found["value"].heading].numbers >= _MOSTLY


def _n_read(layout: Layout, catalogue: Catalogue) -> int:
    """Columns that are readings or ticks for certain."""
    return sum(one.sure >= SURE for one in propose_each(layout, catalogue, None).values())
