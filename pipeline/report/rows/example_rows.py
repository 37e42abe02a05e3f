"""Rows of example_doors: doors that show a cause and came back with its fault, and doors that show it and did not."""

from dataclasses import dataclass
from datetime import date

from pipeline.report.catalogue_words import DEVIATION_WORDS, fault_words

EXAMPLES = f"""
    SELECT example_doors.*, {fault_words("example_doors.fault")} AS fault_words, {DEVIATION_WORDS} AS words,
        deviation.unit, deviation.how = 'checks' AS is_check
    FROM example_doors
    JOIN catalogue_deviations AS deviation ON deviation.name = example_doors.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = example_doors.fault
    ORDER BY example_doors.pair, example_doors.kind, example_doors.place
"""


@dataclass(frozen=True)
class ExampleDoor:
    """One door of a kind: `came back` or `did not`. doors_alike: how many there are of the kind."""

    fault_words: str
    words: str
    unit: str
    is_check: bool
    kind: str
    pair: int
    install_id: str
    value: float
    fitted_on: date | None
    door_years: float
    reported_on: date | None
    doors_alike: int

    @property
    def has_come_back(self) -> bool:
        """It came back with the fault."""
        return self.kind == "came back"
