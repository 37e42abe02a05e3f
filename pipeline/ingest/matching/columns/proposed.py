"""One entry of `each` as it is proposed: a column, or an item, that is a reading or a check, and how sure that is."""

from dataclasses import dataclass

from pipeline.ingest.declared.mapping import Each

# How a unit was found, and why not, where the size of the numbers alone was to tell it.
MAY_BE_POUNDS = "beside sizes in inches its numbers may be pounds; say unit ="
BY_SIZE, FITS, TAKEN = "by their size", "its numbers fit", "taken as mm"


@dataclass(frozen=True)
class Proposed:
    """An entry of `each`. along: the door's width or height that its share is of; doubt: why it is not sure.

    how  of a reading, how its unit was found
    """

    record: str
    each: Each
    along: str
    why: str
    sure: float
    doubt: str = ""
    how: str = ""
