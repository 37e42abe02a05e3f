"""A crew's own sheet: three things with their limits, nobody else on it, no blame; safe file names; honest words."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.catalogue import load_catalogue
from pipeline.report.charts.door_pictures import DOOR_PICTURES
from pipeline.report.charts.leaf_pictures import LEAF_PICTURES
from pipeline.report.reading import Results
from pipeline.report.rows.watch_rows import Gap, LimitInUse, UsualSide, WatchedThing
from pipeline.report.sheet import TitleBlock
from pipeline.report.sheets.crew_sheet import crew_sheets, file_names, rendered
from pipeline.report.watching import PLAIN, side_words, watching
from pipeline.report.words import crew_sheet as words
from tests.report.conftest import hostile_tables
from tests.report.invented import CREWS, few_tables, invented_tables, write_results
from tests.report.test_pages import Reader

SHEETS = [f"k{number}" for number in range(1, 11)]
ROW = WatchedThing(
    "K1", 1, "sill_level_error", "sill out of level", "level the sill", "sill", "evidence", "stiff running", "strong",
    40, 9, 0, 4.0, "mm", is_check=False,
)  # fmt: skip
LIMIT = LimitInUse("sill_level_error", None, 3.0, 1.0, "width", None, None, "common practice")
SIDE = UsualSide("K1", "jamb_plumb_error", "jamb_edge", "left_jamb", 40, 34, 6, 1.2, 0.8, 1.6, 1, "mm")


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_names_its_crew_and_no_other_and_lists_three(pages, name):
    reader = Reader(pages[name])
    assert reader.headings.count(1) == 1
    assert len(re.findall(r'<section class="watch">', pages[name])) == 3
    own = {crew for crew in CREWS if re.search(rf"\b{crew}\b", reader.text)}
    assert own == {name.upper()}
    assert words.TELL_US in reader.text
    assert not re.search(r"\b(worst|rank|league|fault of|blame|careless)\w*", reader.text, re.IGNORECASE)


def test_all_together_is_each_of_them_in_turn(pages):
    together = Reader(pages["crew-sheets"]).text
    places = [together.index(f"Crew {name.upper()}: three things to watch") for name in SHEETS]
    assert places == sorted(places)
    assert len(re.findall(r'<article class="crew-sheet">', pages["crew-sheets"])) == len(CREWS)


def sheets_of(folder, tables):
    """The files of the crews' sheets alone, by name without ending."""
    with Results(write_results(folder / "results.duckdb", tables)) as results:
        made = rendered(crew_sheets(results), TitleBlock("Invented Doors", "30 June 2026", ""))
        return {Path(name).stem: page for name, page in made}


@pytest.mark.parametrize("tables", [invented_tables, few_tables, hostile_tables])
def test_the_files_are_whole_need_nothing_and_use_every_id_once(tmp_path, tables):
    for page in sheets_of(tmp_path, tables()).values():
        reader = Reader(page)
        ids = [attributes["id"] for _, attributes in reader.tags if attributes.get("id")]
        assert len(ids) == len(set(ids))
        assert not reader.all("script")
        assert not re.search(r"url\((?!#)|@import", page)


def test_a_firm_in_its_first_week_gets_the_usual_three_and_is_told_so(tmp_path):
    anna = Reader(sheets_of(tmp_path, few_tables())["anna"]).text
    assert words.USUAL in anna
    assert "Not on record for any of your doors yet" in anna


def test_the_numbers_of_a_sheet_are_those_of_its_table(tmp_path):
    tables = invented_tables()
    made = sheets_of(tmp_path, tables)
    for crew, rows in tables["watch_list"].partition_by("crew", as_dict=True).items():
        text = Reader(made[crew[0].lower()]).text
        said = re.findall(r"On record for (\d+) of your doors, out on (\d+|none)(?:; on (\d+) the)?", text)
        found = [(int(doors), int(out.replace("none", "0")), int(blur or 0)) for doors, out, blur in said]
        assert found == rows.select("doors", "doors_out", "doors_undecided").rows()


def test_the_weak_steps_sheet_leads_to_every_crews_sheet(pages):
    links = {attributes["href"] for attributes in Reader(pages["training"]).all("a")}
    assert {f"crews/{name}.html" for name in SHEETS} | {"crew-sheets.html"} <= links


def test_file_names_are_safe_short_and_never_the_same():
    crews = [
        "Crew Ash",
        "crew ash",
        "Crew-Ash",
        "CON",
        "nul",
        "../../x",
        "K 7/8",
        "",
        "\u202eabc",
        "é" * 5000,
        "Ünal",
        "日本",
    ]
    found = file_names(crews)
    assert len({name.lower() for name in found.values()}) == len(crews)
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9-]{0,60}\.html", name) for name in found.values())
    assert found["Crew Ash"] == "crew-ash.html"
    assert not {"con.html", "nul.html"} & set(found.values())


def test_everything_that_can_be_watched_says_how_and_has_a_picture():
    catalogue = load_catalogue({})
    causes = [row.name for row in catalogue.deviations if row.role == "cause"]
    for name in causes:
        how = watching(name)
        assert how.instrument, name
        assert how.how, name
        assert how.picture in DOOR_PICTURES | LEAF_PICTURES, name
    assert watching("bolt_throw_short").picture == PLAIN


def test_limits_say_all_their_parts():
    assert words.limit_words(ROW, [LIMIT]) == "at most 3 mm and 1 mm a metre of width"
    of_steel = replace(LIMIT, high=4.0, high_per_m=None, material="steel")
    assert words.of_products(ROW, [LIMIT, of_steel]) == "Steel: at most 4 mm."
    assert words.limit_number(ROW, [replace(LIMIT, high=None)]) == "1 mm/m"
    assert words.limit_words(ROW, [of_steel]) == "by product: see below"


def test_the_movement_gap_is_told_for_every_frame_and_width():
    # the published table of recommended gaps a side (trade article named in catalogue/gaps.toml)
    gaps = [Gap("steel", None, width, size) for width, size in ((1500.0, 4.0), (3000.0, 5.0), (4500.0, 6.0))]
    gaps.append(Gap("pvc-u", "dark", 4500.0, 11.0))
    told = words.gap_table(gaps)
    assert told.startswith("Gap a side in mm, for a width to 1.5 / 3 / 4.5 m: steel 4 / 5 / 6; pvc-u dark - / - / 11.")
    assert words.gap_table([]) == ""


def test_a_usual_side_is_said_only_where_the_table_says_one():
    assert words.usual_side([SIDE]).startswith("Usually the left jamb leans in, its top towards the opening: 1.2 mm")
    assert "(0.8 to 1.6)" in words.usual_side([SIDE])
    for side in (0, None):
        assert words.usual_side([replace(SIDE, side=side)]) == ""
    falls_out = replace(SIDE, measure="sill_tilt", member="")
    assert words.usual_side([falls_out]) == ""
    assert "the sill falls to the inside" in words.usual_side([replace(falls_out, side=-1, mean=-1.2)])


def test_jambs_that_lean_the_same_way_point_to_the_level():
    other = replace(SIDE, member="right_jamb")
    assert words.OUT_OF_PLUMB_ALIKE in words.usual_side([SIDE, other])
    assert words.OUT_OF_PLUMB_ALIKE not in words.usual_side([SIDE, replace(other, side=-1, mean=-1.2)])


def test_no_word_of_evidence_without_a_fault_shown():
    bare = replace(ROW, fault_words=None, evidence=None, why="often out")
    assert "evidence" not in words.why(bare)
    assert "strong evidence" in words.why(ROW)
    assert "not sure" in words.why(replace(ROW, evidence="suggestive"))


def test_every_side_has_words_for_its_column():
    assert all(part.short and part.low and part.high and (part.plus or part.minus) for part in side_words().values())
