"""What is blank in the rows in which crew and day are: one site and one handover for several doors. All invented."""

from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Door ref", "Team", "Date fitted", "Handed over", "Site address", "Width mm", "Colour"]


def taken(firm, rows):
    write_sheets(firm.folder / "doors.xlsx", {"Doors": [HEADS, *rows]})
    matched(firm, "doors.xlsx")
    firm.take_in()
    return firm.ask("SELECT install_id, crew, handed_over_on::TEXT FROM installs ORDER BY 1")


def site(number, name, colours, handed=True):
    """Two doors of one site: what they share stands once."""
    over = day(number + 1) if handed else None
    first = [f"D{number}", "Elm" if number % 4 else "Oak", day(number), over, name, 3000, colours[0]]
    return [first, [f"D{number + 1}", None, None, None, None, 4200, colours[1]]]


def test_handover_and_address_go_down_with_crew_and_day(empty_firm):
    rows = [row for n in (1, 3, 5, 7) for row in site(n, f"{n} Invented Way", ("RAL 7016", "RAL 9010"))]
    assert [(one, over) for one, _, over in taken(empty_firm, rows)] == [
        (f"D{n + more}", f"2025-01-{n + 7:02}") for n in (1, 3, 5, 7) for more in (0, 1)
    ]
    people = empty_firm.people("SELECT address FROM install_people ORDER BY install_id")
    assert people[:2] == [("1 Invented Way",), ("1 Invented Way",)]


def test_a_handover_that_is_also_blank_elsewhere_is_not_yet(empty_firm):
    rows = [row for n in (1, 3, 5) for row in site(n, f"{n} Invented Way", ("RAL 7016", "RAL 9010"))]
    rows += site(7, "7 Invented Way", ("RAL 7016", "RAL 9010"), handed=False)
    assert {over for _, _, over in taken(empty_firm, rows)[-2:]} == {None}
