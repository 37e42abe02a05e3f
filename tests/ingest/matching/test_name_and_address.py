"""A customer's name and address in one cell.

All invented; how such sheets look is common practice, no source.
"""

import duckdb
import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

NAMES = ["Mrs J Alder", "Birch & Co", "T. Cedar", "Ms Elder", "Mr Fir"]


def people(firm, heading, cells):
    rows = [[f"K{n}", cell, "Elm", day(n), 3] for n, cell in enumerate(cells, 1)]
    write_sheets(firm.folder / "jobs.xlsx", {"Jobs": [["Job no", heading, "Team", "Fitted", "Panels"], *rows]})
    matched(firm, "jobs.xlsx")
    firm.take_in()
    with duckdb.connect(str(firm.out / "people.duckdb"), read_only=True) as connection:
        sql = "SELECT customer, address FROM install_people ORDER BY install_id"
        return connection.execute(sql).fetchall()


@pytest.mark.parametrize("heading", ["Customer", "Customer name and address", "Client / site", "Address"])
def test_a_name_over_an_address_is_parted(empty_firm, heading):
    names = [f"Mr {name.split()[-1]}" for name in NAMES] if heading == "Address" else NAMES
    found = people(empty_firm, heading, [f"{name}\n{n} Mill Lane\nSaltby" for n, name in enumerate(names, 1)])
    assert found == [(name, f"{n} Mill Lane, Saltby") for n, name in enumerate(names, 1)]


def test_so_are_the_two_behind_a_comma(empty_firm):
    cells = [*(f"{name}, {n} Mill Lane, Saltby" for n, name in enumerate(NAMES, 1)), "Gorse, T, 8 Mill Lane", "Hazel"]
    found = people(empty_firm, "Customer and address", [*cells, "9 Mill Lane, Saltby"])
    apart = [(name, f"{n} Mill Lane, Saltby") for n, name in enumerate(NAMES, 1)]
    assert found == [*apart, ("Gorse, T", "8 Mill Lane"), ("Hazel", None), (None, "9 Mill Lane, Saltby")]


def test_a_house_with_a_name_is_an_address_all_of_it(empty_firm):
    cells = [f"{name} House\n{n} Mill Lane" for n, name in enumerate(["Alder", "Birch", "Cedar", "Elder"], 1)]
    assert people(empty_firm, "Address", cells) == [(None, cell) for cell in cells]


def test_names_of_several_lines_stay_whole(empty_firm):
    cells = [f"{name}\ncare of Gorse" for name in NAMES]
    assert people(empty_firm, "Customer", cells) == [(cell, None) for cell in cells]
