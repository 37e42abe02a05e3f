"""Which sheets of single doors go when a customer is forgotten: theirs, and those that say their words."""

from pathlib import Path

from pipeline.forget.door_sheets import sheets_that_tell
from pipeline.forget.texts import Texts

ANNA = Texts(
    frozenset({"ANNA EXAMPLE", "12 ELM ROAD", "ANNA"}), frozenset({"ZZ1 1EX", "WATER ON THE SILL AFTER RAIN", "LOUD"})
)
PAGE = "<h1>Door</h1><li><strong>A.</strong> {}</li>"


def sheets(folder: Path, place: str, **said: str) -> None:
    (folder / place).mkdir(exist_ok=True)
    for door, words in said.items():
        (folder / place / f"{door}.html").write_text(PAGE.format(words), encoding="utf-8")
        (folder / place / f"{door}.png").write_bytes(b"")


def test_the_sheets_of_their_doors_go_whatever_they_say(tmp_path: Path) -> None:
    sheets(tmp_path, "doors_with_people", D1="Mrs E, the corner house", D2="somebody else, loud")
    assert sheets_that_tell(tmp_path, ["D1", "D7"], ANNA) == ["doors_with_people/D1.html", "doors_with_people/D1.png"]


def test_so_do_those_that_say_their_words_however_they_are_written(tmp_path: Path) -> None:
    sheets(
        tmp_path, "doors_with_people", D2="as at <bdi>Anna</bdi> EXAMPLE&#39;s", D3="Water on the sill, after rain.",
        D4="Hanna Example", D5="Anna, loud",
    )  # fmt: skip
    found = sheets_that_tell(tmp_path, [], ANNA)
    assert {name.split(".")[0] for name in found} == {"doors_with_people/D2", "doors_with_people/D3"}


def test_a_sheet_without_people_goes_only_for_a_name_in_a_wrong_column(tmp_path: Path) -> None:
    sheets(tmp_path, "doors", D1="water on the sill after rain", D2="product 12, Elm Road")
    assert sheets_that_tell(tmp_path, ["D1"], ANNA) == ["doors/D2.html", "doors/D2.png"]
    assert sheets_that_tell(tmp_path / "nothing here", ["D1"], ANNA) == []
