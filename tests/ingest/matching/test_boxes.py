"""Forms whose labels stand over their values: a value that reads as a label is a value, a label never one."""

import pytest
from openpyxl import Workbook

from tests.ingest.matching.test_match import matched

TOP = ("Door no.", "Fitted by", "Customer", "Fitted on")


def protocols(firm, low, values, below=None):
    """Six forms in a workbook, labels in one row and what they ask for in the next; taken in as fitback matches them.

    values  of the lower row, by form; below: the row right under it in every second form, else it is blank
    """
    book = Workbook()
    book.remove(book.active)
    for n in range(6):
        sheet = book.create_sheet(f"Door {n + 1}")
        sheet.append(TOP)
        sheet.append([f"N{101 + n}", ["North", "South"][n % 2], f"Sample {n}", f"{13 + n}.4.2025"])
        sheet.append([])
        sheet.append(low)
        sheet.append(values[n % len(values)])
        sheet.append(below if below and n % 2 else [])
        sheet.append(["Sill level", "Left", "Centre", "Right"])
        sheet.append([None, 0, 1, n % 3])
    book.save(firm.folder / "Protocols.xlsx")
    matched(firm, "Protocols.xlsx")
    firm.take_in()


@pytest.mark.parametrize("label", ["New or replacement", "Type of work", "Work"])
def test_replacement_is_a_value_of_what_asks_for_it(empty_firm, label):
    low = ("Material", label, "Number of leaves", "Width (cm)")
    protocols(empty_firm, low, [("Timber", "New", 3, "330,5"), ("Aluminium", "Replacement", 4, "412,0")])
    found = empty_firm.ask("SELECT material, work, leaves, width_mm FROM installs ORDER BY install_id")
    assert found == [("Timber", "new", 3, 3305.0), ("Aluminium", "replacement", 4, 4120.0)] * 3
    assert empty_firm.reasons() == []


def test_every_door_may_be_a_replacement(empty_firm):
    low = ("Material", "New or replacement", "Number of leaves", "Width (cm)")
    protocols(empty_firm, low, [("Timber", "Replacement", 3, 330), ("Aluminium", "Replacement", 4, 412)])
    assert empty_firm.ask("SELECT work FROM installs") == [("replacement",)] * 6


def test_an_open_word_may_be_spelt_as_its_label(empty_firm):
    low = ("Material", "Substrate", "Number of leaves", "Width (cm)")
    protocols(empty_firm, low, [("Timber", "Masonry", 3, 330), ("Aluminium", "Brick", 4, 412)])
    found = empty_firm.ask("SELECT material, substrate, leaves, width_mm FROM installs ORDER BY install_id")
    assert found == [("Timber", "Masonry", 3, 3300.0), ("Aluminium", "Brick", 4, 4120.0)] * 3


def test_one_word_that_is_a_label_elsewhere_is_a_value_among_numbers(empty_firm):
    low = ("Product", "Material", "Number of leaves", "Width (cm)")
    protocols(empty_firm, low, [("Mark", "Timber", 3, 330), ("Slim", "Aluminium", 4, 412)])
    found = empty_firm.ask("SELECT product, material, leaves, width_mm FROM installs ORDER BY install_id")
    assert found == [("Mark", "Timber", 3, 3300.0), ("Slim", "Aluminium", 4, 4120.0)] * 3


def test_no_label_is_the_value_of_the_one_before_it(empty_firm):
    low = ("Material", "New or replacement", "Number of leaves", "Width (cm)")
    # what follows without a blank row leaves it open whether these are boxes
    values = [("Timber", "New", 3, 330), ("Aluminium", "Replacement", 4, 412)]
    protocols(empty_firm, low, values, below=["All work as ordered", None, None, "L.S."])
    labels = {label.casefold() for label in low}
    found = empty_firm.ask("SELECT material, product, substrate FROM installs ORDER BY install_id")
    assert len(found) == 6
    assert not labels & {str(text).casefold() for row in found for text in row}
    assert [material for material, *_ in found].count("Timber") == 3
