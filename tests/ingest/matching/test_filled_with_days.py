"""What is blank in the rows in which crew and day are: one site and one handover for several doors. All invented."""

import pytest

from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets

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


NOTE = "Labour only. Date and site: blank = same as above. Fixings in mm up from the bottom"
READ = [
    "Leaves",
    "Width mm",
    "LH jamb fixing 1",
    "LH jamb fixing 2",
    "RH jamb fixing 1",
    "RH jamb fixing 2",
    "Frame width",
]
GANGS = {"Q": "Team Ash", "R": "Team Elm", "S": "Team Fir"}


def tally(note="", *, order=("Date", "Site", "Door no."), has_column=False, n_a_site=2, line="Gang: {}"):
    """Four doors of each gang, two a day; the rows of a tally and, by door, its gang, its day and its site."""
    heads, truth = [*order, *(["Gang"] if has_column else []), *READ], {}
    rows = [[note or "Tally of doors"], [], heads]
    for at, (letter, gang) in enumerate(GANGS.items()):
        rows += [] if has_column else [[line.format(gang)]]
        for number in range(4):
            when, site = day(30 * at + number // 2), f"{10 * at + number // n_a_site} Heron Lane"
            cells = {"Door no.": f"{letter}{21 + number}", "Date": None, "Site": None}
            cells |= {} if number % 2 else {"Date": when}
            cells |= {} if number % n_a_site else {"Site": site}
            read = [3, 3000 + 10 * number, 200 + at, 700 + number, 210 + at, 715 + number, 2990 + 10 * number]
            rows.append([*(cells[name] for name in order), *([gang] if has_column else []), *read])
            truth[cells["Door no."]] = gang, f"{when:%Y-%m-%d}", site
        rows += [[f"Total {gang}", None, "4 doors", *[None] * 6, 480], []]
    return [*rows, ["GRAND TOTAL", None, "12 doors", *[None] * 6, 1440]], truth


def tallied(firm, rows):
    """(the mapping proposed, by door its gang, its day and its site)."""
    write_sheets(firm.folder / "tally.xlsx", {"Tally": rows})
    text = matched(firm, "tally.xlsx").text
    firm.take_in()
    sites = dict(firm.people("SELECT install_id, address FROM install_people"))
    doors = firm.ask("SELECT install_id, crew, fitted_on::TEXT FROM installs")
    return text, {door: (crew, when, sites.get(door)) for door, crew, when in doors}


@pytest.mark.parametrize("line", ["Gang: {}", "{}"])
@pytest.mark.parametrize("order", [("Date", "Site", "Door no."), ("Door no.", "Date", "Site")])
@pytest.mark.parametrize("note", [NOTE, "Blank = same as above"])
def test_a_tally_with_a_line_over_the_doors_of_each_gang_is_a_table(empty_firm, line, order, note):
    """It is no form of one door, whose numbers are labels; a note says that a site which goes on stands once."""
    rows, truth = tally(note, order=order, n_a_site=3, line=line)
    text, found = tallied(empty_firm, rows)
    assert "form = true" not in text
    assert found == truth
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE position_mm IS NOT NULL") == [(0,)]
    assert empty_firm.set_aside() == []


@pytest.mark.parametrize("has_column", [True, False])
def test_a_site_goes_down_with_its_day_where_every_row_says_its_gang(empty_firm, has_column):
    rows, truth = tally(has_column=has_column)
    assert tallied(empty_firm, rows)[1] == truth


def test_a_site_that_is_blank_in_other_rows_than_the_day_is_not_known(empty_firm):
    rows, truth = tally(has_column=True, n_a_site=3)
    sites = {
        door: (who, when, site if int(door[1:]) in (21, 24) else None) for door, (who, when, site) in truth.items()
    }
    assert tallied(empty_firm, rows)[1] == sites


@pytest.mark.parametrize("aside", ["", " (handover dates are added later)", ", but handover is as it says"])
def test_what_a_note_on_blanks_does_not_name_stays_open(empty_firm, aside):
    """Handed over is a word of no such note, or of an aside in it, and a door may not be handed over yet."""
    heads = ["Door ref", "Team", "Date fitted", "Handed over", "Site address", "Width mm", "Colour"]
    rows = [[f"Team, date fitted and site address left blank: same as the line above{aside}"], heads]
    rows += [row for n in (1, 3, 5) for row in site(n, f"{n} Invented Way", ("RAL 7016", "RAL 9010"))]
    rows += site(7, "7 Invented Way", ("RAL 7016", "RAL 9010"), handed=False)
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*), count(crew), count(handed_over_on) FROM installs") == [(8, 8, 3)]
    people = empty_firm.people("SELECT address FROM install_people ORDER BY install_id")
    assert [address for (address,) in people] == [f"{n} Invented Way" for n in (1, 1, 3, 3, 5, 5, 7, 7)]


def test_a_ditto_mark_is_the_cell_above_in_every_column_and_a_blank_stays_unknown(empty_firm):
    heads = ["Door ref", "Date fitted", "Client", "Address", "Eircode", "Crew", "Width mm", "Sill level LHS"]
    rows = [
        ["R1", day(1), "Ms Ardle", "1 Heron Lane", "Y11 A1", "Oak", 3000, 2],
        ["R2", '"', '"', "”", "do.", '"', "ditto", '"'],
        ["R3", '"', None, '"', '"', '"', 3600, -1],
        ["R4", day(4), '"', "2 Heron Lane", None, "Elm", 4200, 1],
    ]
    write_sheets(empty_firm.folder / "book.xlsx", {"Doors": [heads, *rows]})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    doors = empty_firm.ask("SELECT install_id, crew, fitted_on::TEXT, width_mm FROM installs ORDER BY install_id")
    assert doors == [
        ("R1", "Oak", "2025-01-07", 3000), ("R2", "Oak", "2025-01-07", 3000), ("R3", "Oak", "2025-01-07", 3600),
        ("R4", "Elm", "2025-01-10", 4200),
    ]  # fmt: skip
    people = empty_firm.people("SELECT customer, address, postcode FROM install_people ORDER BY install_id")
    first = ("Ms Ardle", "1 Heron Lane", "Y11 A1")
    assert people == [first, first, (None, *first[1:]), (None, "2 Heron Lane", None)]
    levels = empty_firm.ask("SELECT install_id, value FROM readings ORDER BY install_id")
    assert levels == [("R1", 2), ("R2", 2), ("R3", -1), ("R4", 1)]


def test_beside_ditto_marks_a_blank_door_or_day_of_a_log_is_not_known(empty_firm):
    add_doors(empty_firm, ["V1", "V2"])
    rows = [["Rang on", "Door no", "Customer", "What they said", "Went on", "Hrs"]]
    rows += [[day(60), "V1", "Ms Ardle", "Leaf 2 drags on the sill", day(61), 1]]
    rows += [
        [day(62), '"', '"', "Water inside under the sill", '"', 2],
        [day(64), None, "Mr Quay", "Key sticks", None, 3],
    ]
    rows += [[day(66), "V2", "Ms Teal", "Handle is loose again", day(67), 4]]
    write_sheets(empty_firm.folder / "calls.xlsx", {"Calls": rows})
    matched(empty_firm, "calls.xlsx")
    empty_firm.take_in()
    calls = empty_firm.ask("SELECT install_id, visited_on::TEXT, hours FROM callbacks ORDER BY hours")
    assert calls == [("V1", "2025-03-08", 1), ("V1", "2025-03-08", 2), (None, None, 3), ("V2", "2025-03-14", 4)]
