"""What is said of how completely crews record the steps never says more than the counts do."""

from pipeline.report.rows.completeness_rows import RecordedStep
from pipeline.report.words import completeness as words
from tests.report.samples import plain


def steps(**shares: dict[str, tuple[int, int]]) -> list[RecordedStep]:
    """Rows by crew: step=(doors recorded, doors)."""
    return [
        RecordedStep(crew, step, doors, recorded, recorded / doors)
        for crew, of in shares.items()
        for step, (recorded, doors) in of.items()
    ]


EVEN = {"sill": (60, 100), "frame": (90, 100)}


def test_the_step_recorded_least_and_most_are_told_with_their_counts():
    said = words.says(steps(all=EVEN, A=EVEN))
    assert plain(said) == "Sill is recorded least, on 60 of 100 doors (60 %); frame most, on 90 of 100 doors (90 %)"


def test_a_crew_that_stays_a_fifth_behind_is_told():
    found = steps(all={"sill": (120, 200), "frame": (180, 200)}, A={"sill": (90, 100)}, B={"sill": (30, 100)})
    assert plain(words.says(found)).endswith(". Farthest behind the firm: crew B with sill on 30 of 100 doors (30 %)")


def test_a_crew_of_few_doors_is_held_against_nobody():
    found = steps(all={"sill": (90, 109), "frame": (100, 109)}, A={"sill": (90, 100)}, B={"sill": (0, 9)})
    assert words.widest_gap(found) is None


def test_nothing_recorded_is_said_plainly():
    assert words.says(steps(all={"sill": (0, 5)}, A={"sill": (0, 5)})) == "No step is recorded on any of 5 doors"


def test_crews_stand_by_their_doors():
    assert list(words.by_crew(steps(all=EVEN, A={"sill": (1, 20)}, B={"sill": (1, 90)}))) == ["B", "A"]
