"""Customers in a table of their own, beside doors that have their number. All invented; common practice, no source."""

from tests.ingest.matching.test_match import day, matched, write_sheets


def test_a_list_of_customers_is_told_as_what_it_is(empty_firm):
    doors = [[f"K{n}", 500 + n, "Elm", day(n), 3] for n in range(1, 6)]
    customers = [[500 + n, f"Ms {name}", f"{n} Mill Lane", "XX1 1AA"] for n, name in enumerate(["Alder", "Fir"], 1)]
    sheets = {
        "Doors": [["Job no", "Customer no", "Team", "Fitted", "Panels"], *doors],
        "Customers": [["Customer no", "Name", "Address", "Postcode"], *customers],
    }
    write_sheets(empty_firm.folder / "book.xlsx", sheets)
    ((sheet, why),) = matched(empty_firm, "book.xlsx").unread
    assert sheet == "Customers"
    assert why.startswith("it lists customers and no doors")
    empty_firm.take_in()
    assert empty_firm.account("installs") == (5, 5, 0, 0)
