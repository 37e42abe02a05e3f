"""Diagonals said by their corners in other words than bottom and top. All invented; common practice, no source."""

import pytest

from pipeline.ingest.matching.words.meaning import SURE, reading_meaning


@pytest.mark.parametrize(
    ("heading", "station"),
    [
        ("Corners BL-TR", "rising"),
        ("Corners TL to BR", "falling"),
        ("Corner bottom left - top right", "rising"),
        ("Corner to corner BL TR", "rising"),
        ("Frame diagonal / low left to high right", "rising"),
        ("frame diagonal / high left to low right", "falling"),
        ("Diagonal upper left to lower right", "falling"),
    ],
)
def test_a_heading_from_corner_to_corner_is_a_diagonal(heading, station):
    found = reading_meaning(heading)
    assert (found.name, found.place.station, found.sure >= SURE) == ("frame_diagonal", station, True)


@pytest.mark.parametrize("heading", ["Jamb height left", "Head high left", "Sill low right"])
def test_one_side_that_is_high_or_low_is_no_corner(heading):
    found = reading_meaning(heading)
    assert found is None or found.name != "frame_diagonal"
