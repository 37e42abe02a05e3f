"""Example doors: what the two kinds are, how many there are of each, and what to do with them."""

from pipeline.report.numbers import as_name, counted, number, percent, plain
from pipeline.report.rows.example_rows import ExampleDoor
from pipeline.report.words.common import with_unit

MOST_OF_A_KIND, BOTH = 5, 2  # doors that example_doors has of a kind, and how many kinds there are
DO = (
    "Look at one of each with the crews, on site or by its readings: fitback door, with the number of a door, draws it "
    "and follows every figure to its file and row."
)
WHY_BOTH = (
    "Doors of the second kind are why this is no proof: with it the fault is more frequent, but it does not come to "
    "every door. Those that came back last and those watched longest stand first."
)


def says(examples: list[ExampleDoor]) -> str:
    """`Of 90 doors with “sill falls to the inside” 23 came back with water ingress`."""
    first = [door for door in examples if door.pair == 1]
    numbers = {door.kind: door.doors_alike for door in first}
    whole = sum(numbers.values())
    shown = first[0]
    return (
        f"Of {counted(whole, 'door')} that show “{as_name(shown.words)}” the most, {numbers.get('came back', 0)} came "
        f"back with {as_name(shown.fault_words)}: {_shown(numbers)} to look at"
    )


def _shown(numbers: dict[str, int]) -> str:
    """How many of each kind stand below: example_doors has five at most."""
    is_full = len(numbers) == BOTH and min(numbers.values()) >= MOST_OF_A_KIND
    return "five of each kind" if is_full else "up to five of each kind"


def value(door: ExampleDoor) -> str:
    """`4.1 mm`, or the share of a check that failed."""
    if door.is_check:
        return "failed" if door.value >= 1 else f"failed on {percent(door.value)}"
    is_length = door.unit == "mm"  # read to a tenth; beside each other with the same decimals
    return with_unit(number(door.value, 1) if is_length else plain(door.value), door.unit)
