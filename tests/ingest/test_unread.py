"""Columns that nothing is read from are told by every run, until they are placed or left out knowingly."""

import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.errors import UserError
from pipeline.ingest.files.unread import unread_lines, unread_sentence
from pipeline.ingest.matching.match import match_files
from pipeline.settings import load_settings
from tests.ingest.conftest import INSTALLS
from tests.ingest.matching.test_mapped_sheets import write_sheet

HEADINGS = ["Door ref", "Team", "Date fitted", "Width (mm)", "Photo", "Lorry"]
ROWS = [["D1", "Alder", "2025-01-10", 4200, "p1", "L7"], ["D2", "Birch", "2025-01-11", 3900, None, "L8"]]


@pytest.fixture
def matched(empty_firm):
    """A firm that has run match on its first sheet."""
    write_sheet(empty_firm.folder / "site 1.xlsx", [HEADINGS, *ROWS])
    match_files([empty_firm.folder / "site 1.xlsx"], is_terminal=False)
    return empty_firm


def told(firm):
    found = ((one.file, one.sheet, one.column) for one in firm.take_in().unread)
    return [(file, sheet, column.heading, column.state, column.cells) for file, sheet, column in found]


def test_what_match_found_no_place_for_is_told_by_every_run(matched):
    """Before, match listed it once, and no run spoke of it."""
    found = [("site 1.xlsx", "Jan", "Photo", "no place", 1), ("site 1.xlsx", "Jan", "Lorry", "no place", 2)]
    assert told(matched) == found
    assert told(matched) == found  # the file is unchanged, and not read again
    assert matched.ask("SELECT heading, state FROM unread_headings ORDER BY ALL") == [
        ("Lorry", "no place"),
        ("Photo", "no place"),
    ]


def test_a_column_that_is_new_next_month_stands_first(matched):
    rows = [["D3", "Alder", "2025-02-10", 4200, "p1", "L7", 3]]
    write_sheet(matched.folder / "site 2.xlsx", [[*HEADINGS, "Sill mid"], *rows], "Feb")
    unread = matched.take_in().unread
    assert (unread[0].file, unread[0].sheet, unread[0].column.heading) == ("site 2.xlsx", "Feb", "Sill mid")
    assert unread_sentence(unread, "records") == [
        "3 columns are not read, so in no number: 'Sill mid' (new), 'Photo', 'Lorry' of 2 files; fitback check records "
        "tells of each where it stands and how to place it or leave it out."
    ]


def test_what_a_person_has_left_out_is_not_told_but_stands_in_the_table(matched):
    path = matched.folder / "fitback.toml"
    text = path.read_text()
    assert 'not_placed = ["Photo", "Lorry"]' in text
    path.write_text(text.replace('not_placed = ["Photo", "Lorry"]', 'not_placed = ["Photo"]\nignore = ["lorry"]'))
    assert [heading for _, _, heading, _, _ in told(matched)] == ["Photo"]
    assert matched.ask("SELECT state, reason FROM unread_headings WHERE heading = 'Lorry'") == [
        ("left out", "left out in fitback.toml")
    ]


def test_a_column_that_is_placed_by_hand_is_not_told_any_more(matched):
    path = matched.folder / "fitback.toml"
    path.write_text(path.read_text().replace("width_mm = ", 'product = "Lorry"\nwidth_mm = '))
    assert [heading for _, _, heading, _, _ in told(matched)] == ["Photo"]


def test_a_column_without_a_filled_cell_is_nothing_to_tell(empty_firm):
    write_sheet(empty_firm.folder / "site.xlsx", [HEADINGS, [*ROWS[0][:4], None, None]])
    match_files([empty_firm.folder / "site.xlsx"], is_terminal=False)
    assert told(empty_firm) == []


def test_columns_of_a_file_in_our_own_form_are_left_out_by_the_settings(empty_firm):
    empty_firm.write("installs.csv", INSTALLS.replace("height_mm", "height_mm,Van No,colour scheme", 1))
    empty_firm.write("installs.csv", "install_id,crew,fitted_on,Van  No,scheme\nD1,Alder,2025-01-10,7,x\n")
    assert [heading for _, _, heading, _, _ in told(empty_firm)] == ["Van  No", "scheme"]
    empty_firm.write("fitback.toml", '[ignore]\n"installs*" = ["van no"]\n"readings*" = ["scheme"]\n')
    assert [heading for _, _, heading, _, _ in told(empty_firm)] == ["scheme"]  # without reading the file again


@pytest.mark.parametrize("wrong", ['ignore = ["Van"]', '[ignore]\n"installs*" = "Van"', '[ignore]\n"installs*" = [7]'])
def test_a_list_of_what_is_left_out_that_cannot_be_meant_is_one_sentence(empty_firm, wrong):
    empty_firm.write("fitback.toml", wrong)
    with pytest.raises(UserError, match=r"^fitback\.toml: \[ignore\] gives each file, .* such as .*\.$"):
        load_settings(empty_firm.folder)


def test_sheets_of_a_workbook_are_told_together(matched):
    unread = matched.take_in().unread
    twice = (*unread, *(type(one)(one.file, "Feb", one.column) for one in unread))
    assert "site 1.xlsx, sheets Jan, Feb: 'Photo', 'Lorry': no place was found for it" in unread_lines(twice)[1]
    assert unread_lines(()) == []
    assert unread_sentence((), "records") == []


def test_check_tells_all_of_them(matched):
    done = CliRunner().invoke(app, ["check", str(matched.folder), "--quiet"])
    assert done.exit_code == 0, done.output
    assert "Columns not read, so in no number:\n  site 1.xlsx, sheet Jan: 'Photo', 'Lorry': no place" in done.output
