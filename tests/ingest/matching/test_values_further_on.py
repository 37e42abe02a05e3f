"""Forms in which what a label asks for stands a few columns further on, all invented.

How such forms look is common practice, no source.
"""

from tests.ingest.matching.test_match import day, matched, write_sheets


def form(number, ticks="✓✓✗"):
    labels = ("Opening clean", "Weep holes clear", "Locks operate")
    return [
        ["FITTER'S RECORD"],
        [],
        ["Job no", None, 400 + number],
        ["Client", None, f"Mx Doe{number}"],
        ["Team", None, "Elm"],
        ["Date fitted", None, day(number)],
        ["Frame width", None, 3000],
        [],
        ["Sill level (+ = high)"],
        ["Left", "Centre", "Right"],
        [0, -1.5, number],
        [],
        ["Tick off"],
        *([label, None, None, tick] for label, tick in zip(labels, ticks, strict=True)),
        [],
        ["Remarks"],
    ]


def test_ticks_and_facts_a_few_columns_behind_their_labels(empty_firm):
    """A title merged over the first column of a strip of readings is the name of all of them, none a label's."""
    write_sheets(
        empty_firm.folder / "forms.xlsx",
        {"Job 401": form(1), "Job 402": form(2, "✓✗✓"), "Job 403": form(3)},
        [(sheet, "A9:C9") for sheet in ("Job 401", "Job 402", "Job 403")],
    )
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew, fitted_on::TEXT, width_mm FROM installs ORDER BY 1")[:2] == [
        ("401", "Elm", "2025-01-07", 3000),
        ("402", "Elm", "2025-01-08", 3000),
    ]
    assert empty_firm.ask("SELECT \"check\", outcome FROM checks WHERE install_id = '402' ORDER BY 1") == [
        ("aperture_clean", "pass"),
        ("drainage_clear", "fail"),
        ("locks_operate", "pass"),
    ]
    assert empty_firm.ask("SELECT value FROM readings WHERE install_id = '403' ORDER BY 1") == [(-1.5,), (0,), (3,)]


def test_a_label_behind_a_box_left_blank_is_not_what_it_asks_for(empty_firm):
    """Postcode beside an empty box for the client is no client."""

    def short(number):
        return [
            ["Door ref", f"D{number}", None, "Fitted", day(number)],
            ["Client", None, "Postcode", None],
            ["Crew", "Elm", None, "Width mm", 2500],
            ["Address", None, "Height mm", 2100],
            [],
            ["Frame diagonal rising", 3200],
            ["Frame diagonal falling", 3202],
        ]

    write_sheets(empty_firm.folder / "forms.xlsx", {"D1": short(1), "D2": short(2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.people("SELECT DISTINCT customer, address, postcode FROM install_rows") in (
        [(None, None, None)],
        [],
    )
    assert empty_firm.ask("SELECT install_id, height_mm FROM installs ORDER BY 1") == [("D1", 2100), ("D2", 2100)]
