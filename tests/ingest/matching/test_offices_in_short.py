"""Short headings of a fitters' office whose cells say what they are. All invented; common practice, no source."""

import pytest

from pipeline.ingest.matching.matched import MatchSummary
from pipeline.ingest.matching.words.meaning import SURE, likeness_under, reading_meaning
from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words
from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Job No", "Crew", "Date", "Doors", "W", "H", "Level?", "Diags same?"]


def take(firm, rows):
    write_sheets(firm.folder / "doors.xlsx", {"Doors": [HEADS, *rows]})
    one = matched(firm, "doors.xlsx")
    firm.take_in()
    return one


def rows(doors, levels):
    cells = zip(doors, levels, strict=True)
    return [[20400 + 7 * n, "Elm", day(n), leaf, 3000, 2100, level, "3mm"] for n, (leaf, level) in enumerate(cells)]


def test_doors_of_so_many_leaves_are_counts_of_leaves_and_number_no_door(empty_firm):
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf", "5 panels", "4 leaf"], ["ok", "3 L", "ok", "2 R", "1 L"]))
    found = empty_firm.ask("SELECT install_id, leaves FROM installs ORDER BY 1")
    assert found == [("20400", 3), ("20407", 4), ("20414", 3), ("20421", 5), ("20428", 4)]


def test_a_level_whose_cells_say_which_end_is_low_is_the_sills_and_no_storey(empty_firm):
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf"], ["ok", "3 L", "2 R"]))
    assert empty_firm.ask("SELECT DISTINCT storey FROM installs") == [(None,)]
    assert empty_firm.ask("SELECT install_id, station, value FROM readings WHERE value <> 0 ORDER BY ALL") == [
        ("20407", "left", -3.0),
        ("20414", "right", -2.0),
    ]


def test_a_level_of_floors_is_the_storey(empty_firm):
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf"], ["ground", "first", "ground"]))
    assert empty_firm.ask("SELECT DISTINCT storey FROM installs ORDER BY 1") == [("first",), ("ground",)]


def test_whether_diagonals_are_the_same_is_no_length_of_one(empty_firm):
    assert reading_meaning("Diags same?") is None
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf"], ["ok", "ok", "ok"]))
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE measure = 'frame_diagonal'") == [(0,)]


@pytest.mark.parametrize("heading", ["Problem / visits", "Problem / action taken", "Details / notes"])
def test_a_column_of_what_was_said_may_name_two_things(heading):
    assert likeness_under("callbacks", "note", heading) >= SURE


OWN = ["Dr no", "For", "Who did it", "Day", "Left with customer", "W", "H", "Leafs"]
NAMES = ["Pym", "Orr", "Quill", "Tew", "Vane"]


def own_book(firm, heads=OWN, for_whom=NAMES, calls=()):
    """A fitter's own sheet of doors, and the calls beside it."""
    doors = [
        [301 + n, whom, ["Big Ned", "Tam & Wil"][n % 2], day(n), day(n + 3), 2700 + 10 * n, 2100 + n, 3]
        for n, whom in enumerate(for_whom)
    ]
    sheets = {"Doors": [heads, *doors]}
    if calls:
        sheets["Went back"] = [
            ["Rung", "Dr no", "What", "Back there", "Cause lies with", "How long"],
            *([day(40 + n), 301 + n, f"leaf {n} drags on the floor", day(42 + n), *one] for n, one in enumerate(calls)),
        ]
    write_sheets(firm.folder / "doors.xlsx", sheets)
    matched(firm, "doors.xlsx")


@pytest.mark.parametrize("who", ["Who did it", "Who fitted it", "Who put them in", "By whom", "Done by who"])
def test_a_list_of_doors_may_ask_who_did_it_and_whom_for(empty_firm, who):
    own_book(empty_firm, [*OWN[:2], who, *OWN[3:]])
    empty_firm.take_in()
    found = empty_firm.ask("SELECT install_id, crew, fitted_on, handed_over_on FROM installs ORDER BY 1")
    crews = ["Big Ned", "Tam & Wil"]
    assert found == [(f"{301 + n}", crews[n % 2], day(n).date(), day(n + 3).date()) for n in range(5)]
    people = empty_firm.people("SELECT customer FROM install_people ORDER BY install_id")
    assert people == [(name,) for name in NAMES]


def test_what_doors_are_for_is_no_customer_where_it_comes_again(empty_firm):
    own_book(empty_firm, for_whom=["kitchen", "lounge", "kitchen", "kitchen", "lounge"])
    text = (empty_firm.folder / "fitback.toml").read_text()
    assert "\ncustomer = " not in text
    assert "it may be customer" in text


def test_the_name_of_a_door_is_not_who_fitted_it(empty_firm):
    own_book(empty_firm, [*OWN[:2], "Door names", *OWN[3:]])
    assert "\ncrew = " not in (empty_firm.folder / "fitback.toml").read_text()


def test_a_log_may_ask_how_long_and_with_whom_the_cause_lies(empty_firm):
    calls = [("the maker", "1 hr"), ("the client", "45 mins"), ("The builder", "2 hrs"), ("us", "30 min")]
    own_book(empty_firm, calls=calls)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, visited_on, responsibility, hours FROM callbacks ORDER BY 1") == [
        ("301", day(42).date(), "product", 1.0),
        ("302", day(43).date(), "use", 0.75),
        ("303", day(44).date(), "building", 2.0),
        ("304", day(45).date(), "installation", 0.5),
    ]


def test_how_long_over_bare_numbers_may_be_a_length_and_is_left_to_a_person(empty_firm):
    own_book(empty_firm, calls=[("us", 3), ("us", 2), ("wear", 4), ("us", 1)])
    assert "\nhours = " not in (empty_firm.folder / "fitback.toml").read_text()


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("the maker", "product"),
        ("The Client", "use"),
        ("the weather", "weather"),
        ("the", None),
        ("the neighbour", None),
    ],
)
def test_an_article_before_a_word_changes_nothing(text, word):
    assert meant_by(text, trade_words("responsibility")) == word


def test_doors_that_lack_only_the_crew_stand_as_a_comment_beside_their_readings(empty_firm):
    heads = ["Dr no", "Day", "W", "H", "Leafs", "Badge", "Sill level L", "Sill level R", "Track swept"]
    rows = [[301 + n, day(n), 2700 + n, 2100, 3, ["red", "green"][n % 2], n % 3, 1, "ok"] for n in range(6)]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [heads, *rows]})
    one = matched(empty_firm, "doors.xlsx")
    path = empty_firm.folder / "fitback.toml"
    text = path.read_text()
    assert "[sheet.readings]" in text
    begin = text.index("# [sheet.installs]")
    crew = next(line for line in text[begin:].splitlines() if line.startswith("# crew = "))
    assert "'Badge'" in crew
    assert "'Sill level L'" not in crew
    assert "'W'" not in crew
    told = MatchSummary(path, (one,)).sentences
    assert any("no column is crew" in line and "stands as a comment" in line for line in told)
    # one line completed, and the # taken away
    end = text.index("# <<<", begin)
    draft = text[begin:end].replace('# crew = ""', '# crew = "Badge"').replace("\n# ", "\n").removeprefix("# ")
    path.write_text(text[:begin] + draft + text[end:])
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew, leaves FROM installs ORDER BY 1") == [
        (f"{301 + n}", ["red", "green"][n % 2], 3) for n in range(6)
    ]
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE measure = 'sill_height'") == [(12,)]
