"""A correction never comes into another row than the one that was corrected, however its file comes again."""

import pytest

from pipeline.ingest.mending.book import BOOK
from tests.ingest.mending.books import corrected


@pytest.mark.parametrize(("inserted", "material"), [("", "timber"), ("D9,Alder,2025-01-11,5,\n", None)])
def test_a_correction_and_a_file_changed_in_the_same_moment_never_meet_in_another_row(firm, inserted, material):
    """The row of the corrected place is another door's now, whose corrected cell is empty as that one's was."""
    head = "install_id,crew,fitted_on,leaves,material\nD1,Alder,2025-01-10,4,\n"
    tail = "D4,Birch,2025-02-10,3,\nD5,Birch,2025-02-11,many,\n"
    firm.write("installs.csv", head + tail)
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.put(0, material="timber")
    firm.write("installs.csv", f"{head}{inserted}{tail}D6,Alder,2025-03-01,4,\n")
    firm.take_in()
    found = dict(firm.ask("SELECT install_id, material FROM installs"))
    assert found == {"D1": None, **({"D9": None} if inserted else {}), "D4": None, "D5": material, "D6": None}


@pytest.mark.parametrize(
    ("inserted", "appended", "taken_in"),
    [("", "D6,Alder,2025-03-01,4\n", ["D1", "D5", "D6"]), ("D7,Alder,2025-03-11,3,oak\n", "", ["D1"])],
)
def test_a_row_of_the_wrong_length_is_mended_while_it_is_that_row(firm, inserted, appended, taken_in):
    """Another such row in its place must not come in as the door that was mended: it would be lost."""
    head = "install_id,crew,fitted_on,leaves\nD1,Alder,2025-01-10,4\n"
    firm.write("installs.csv", f"{head}D5,Birch,2025-02-11,3,oak\n")
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.put(0, install_id="D5", crew="Birch", fitted_on="2025-02-11")
    firm.take_in()
    assert firm.ask("SELECT install_id FROM installs ORDER BY ALL") == [("D1",), ("D5",)]
    firm.write("installs.csv", f"{head}{inserted}D5,Birch,2025-02-11,3,oak\n{appended}")
    firm.take_in()
    assert firm.ask("SELECT install_id FROM installs ORDER BY ALL") == [(door,) for door in taken_in]


@pytest.mark.parametrize("word", ["", "NULL", "n/a"])
def test_a_correction_follows_its_row_whatever_stands_in_cells_that_say_nothing(firm, word):
    head, row = "install_id,crew,fitted_on,leaves,product\n", f"D5,Birch,2025-02-11,many,{word}\n"
    firm.write("installs.csv", head + row)
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.put(0, leaves="4")
    firm.take_in()
    firm.write("installs.csv", f"{head}D4,Birch,2025-02-10,3,Alto\n{row}")
    firm.take_in()
    assert firm.ask("SELECT install_id, leaves FROM installs ORDER BY ALL") == [("D4", 3), ("D5", 4)]
