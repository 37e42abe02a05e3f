"""Headings as the trade writes them, in Britain, Ireland, America, Australia and South Africa: what each one means.

Written as a list of its own, from general trade language; common practice, no source.
"""

import tomllib
from contextlib import suppress
from importlib.resources import files

import pytest

from pipeline.errors import UserError
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import SURE, check_meaning, column_likeness, of_ticks, reading_meaning
from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words, words_of
from pipeline.ingest.records import record_named
from tests.ingest.matching.test_match import add_doors, matched, write_sheets

CHECKS = {
    "aperture_clean": ("Reveal clean and dry", "Substrate sound & clean", "Hole clean", "Opening clear of rubble"),
    "head_clearance": ("Deflection gap at head", "Gap to lintel checked", "Clearance to header"),
    "sill_bedded": (
        "Cill bedded full length",
        "Threshold grouted",
        "Bottom track fully supported",
        "No voids under sill",
    ),
    "sill_fixings_sealed": ("Fixings through cill sealed", "Bottom track screws sealed", "Screw heads in cill sealed"),
    "sill_joint_sealed": ("Sill/jamb joint sealed", "Sill mitres sealed", "Threshold joints siliconed"),
    "end_dams_sealed": ("Stop ends on sill", "Cill end caps fitted & sealed", "Sill upstands sealed"),
    "packers_both_sides": ("Packed either side of fixing", "Shims at every anchor", "Jambs packed at each fixing"),
    "fixings_snug": (
        "Fixings nipped up",
        "Frame anchors tight",
        "Fasteners snug",
        "Screws snug",
        "Fixings tight not pulled",
        "Frame screws tight but not pulled in",
    ),
    "drainage_clear": ("Weeps clear & tested", "Drain slots not blocked", "Water test drainage", "Outlets clear"),
    "hinge_screws_complete": ("No missing hinge screws", "Hinges fully screwed", "Hinge fixings complete"),
    "rollers_seated": ("Bottom guide pins in", "Carriages seated", "Wheels in track", "Pivots located"),
    "toe_and_heel": ("Toe & heel done?", "T&H done", "Panels heel & toed", "Glass packed toe & heel"),
    "packs_bonded": ("Setting blocks siliconed", "Glazing packers glued", "Glass packers bonded"),
    "beads_seated": ("Glass stops seated", "Beads pushed fully home", "No gaps in beads"),
    "handles_smooth": ("Levers operate", "Handle springs back", "Hardware operates smoothly"),
    "locks_operate": ("Shoot bolts throw", "Key turns easily", "MPL operates", "Hooks engage keeps", "Deadbolt throws"),
    "catch_engages": ("Hold-open magnet engages", "Door holder engages", "Stay engages"),
    "folds_freely": ("Smooth running", "Leaves fold & stack", "Doors open fully", "No binding"),
    "seals_continuous": ("Mastic pointing done", "Caulk continuous", "Sealed inside and out", "Frame sealed to wall"),
    "track_clean": ("Channel clean", "Tracks hoovered out", "Swarf out of track", "Rail cleaned", "Rails swept"),
    "covers_replaced": ("Screw caps fitted", "Drainage caps on", "Blanking plugs in", "Hinge covers on"),
}
READINGS = {
    ("aperture_width", "top"): ("RO width top", "S/O width top", "M.O. width top", "Brick opening width head"),
    ("aperture_diagonal", "rising"): ("Opening diagonal LL-UR", "RO diag BL to TR"),
    ("frame_diagonal", "falling"): ("Diag UL-LR", "Diagonal BD", "Frame diag top L bottom R", "Cross corner TL-BR"),
    ("sill_height", "left"): ("Threshold level (above datum) LHS", "Cill lvl L/H", "FFL to sill left", "Sill L.H."),
    ("frame_diagonal", "rising"): ("Diag LH bottom - RH top", "Diagonal 1 (BL-TR)", "Diagonal LB-RT", "X-corner TR/BL"),
    ("jamb_face", "bottom"): ("Left jamb plumb bottom (+ = out)", "Plumb left bottom in/out"),
    ("sill_height", "centre"): ("Sill mid-span", "Threshold level half way", "Sill level midpoint"),
    ("sill_tilt", "left"): ("Cross fall L", "Sill in/out level left", "Sill front to back L"),
    ("jamb_face", "top"): ("LHJ face top", "LH jamb i/o top", "Left jamb fore & aft top", "L jamb out-of-plane top"),
    ("frame_width", "centre"): ("Frame O/A width middle",),
    ("leaf_diagonal", "rising"): ("Leaf 2 X-measure BL-TR",),
    ("jamb_edge", "bottom"): ("Left jamb left/right bottom", "Left jamb plumb along wall bottom",
                               "RHJ edge bottom", "RH jamb s/s btm", "Right jamb side to side btm"),
    ("perimeter_gap", "centre"): ("Gap above head centre", "Gap at head centre to lintel"),
    ("clear_height", "left"): ("Head to sill L", "Track to track left", "Sill to head track left"),
    ("head_gap", "lock"): ("Leaf 2 top gap handle side", "Slab 2 head gap strike side", "P2 hd gap lk"),
    ("threshold_gap", "hinge"): ("Gap under leaf 1 hanging side", "Leaf 1 undercut hinge", "L1 bottom gap H"),
    ("fixing", "2"): ("Head fix no. 2", "L jamb anchor 2"),
}  # fmt: skip
COLUMNS = {
    ("installs", "crew"): ("Fitter initials", "Joiners", "Fixing team", "Two-man team", "Hung by", "Tradie"),
    ("installs", "fitted_on"): ("Fix date", "Fitting completed", "Last day on site", "Date of install"),
    ("installs", "handed_over_on"): (
        "Turned over",
        "turnover_at",
        "CML date",
        "Legal completion",
        "Key release",
        "Punch list signed",
    ),
    ("installs", "surveyed_on"): ("Technical survey", "Field measure", "Check measure"),
    ("installs", "substrate"): ("Fixed into", "Reveal type", "Wall make-up"),
    ("installs", "install_id"): ("Screen ref", "Tag no", "Door schedule ref"),
    ("callbacks", "reported_on"): ("Told us", "First heard", "Date rang", "Came in", "Defect raised", "Notified"),
    ("callbacks", "visited_on"): ("Tech out", "Went back", "Put right on", "Fitter attended"),
    ("callbacks", "fault"): ("Contact reason", "Complaint category", "Call type", "Problem group"),
    ("callbacks", "note"): (
        "Fault as described",
        "What they told us",
        "In their own words",
        "Why",
        "Customer's words",
        "Action taken",
        "Nature of call",
    ),
    ("callbacks", "responsibility"): ("Put down to", "Cost to", "Laid at", "Down to", "Backcharge to", "Borne by"),
    ("callbacks", "callback_id"): ("Fault no.", "Attendance no"),
    ("callbacks", "cost"): (
        "Charged EUR",
        "What it cost us",
        "Cost ex GST",
        "Labour + parts + travel",
        "Cost to put right",
    ),
    ("callbacks", "hours"): (
        "Crew hours",
        "Minutes there",
        "Operative hours",
        "Fitter's hours",
        "On-site hrs",
        "Time to fix",
        "Chargeable hours",
    ),
    ("instruments", "instrument"): ("Gauge ref", "Equipment ref"),
    ("instruments", "max_error"): ("+/-", "Reads to within", "Accuracy (±)"),
    ("instruments", "checked_on"): ("Last cal date", "Date tested"),
    ("training", "step"): ("Toolbox talk topic", "Course title", "Refresher"),
}


def flat(table):
    return [(meant, heading) for meant, headings in table.items() for heading in headings]


@pytest.mark.parametrize(("check", "heading"), flat(CHECKS))
def test_a_heading_over_ticks(check, heading):
    meaning = of_ticks(check_meaning(heading))
    assert (meaning.name, meaning.sure >= SURE) == (check, True)


@pytest.mark.parametrize(("place", "heading"), flat(READINGS))
def test_a_heading_over_readings(place, heading):
    meaning = reading_meaning(heading)
    assert (meaning.name, meaning.place.station, meaning.sure >= SURE) == (*place, True)


@pytest.mark.parametrize(("column", "heading"), flat(COLUMNS))
def test_a_heading_of_a_column(column, heading):
    record, name = column
    likeness = {one.name: column_likeness(record, one.name, heading) for one in record_named(record).columns}
    assert likeness[name] == max(likeness.values())
    assert likeness[name] >= 0.85


@pytest.mark.parametrize(
    "heading",
    ["Any leaks", "Blocked drains", "Snags outstanding", "Handle missing", "Glass scratched", "Site tidy", "Pan sealed",
     "Sill anchors caulked",
     "Track broken", "Drain holes blocked", "Locks not working", "Beads missing", "Protective tape removed",
     "Fixings not pulled tight", "Fixings not tight, not pulled up"],
)  # fmt: skip
def test_what_names_no_check_or_its_contrary_is_left_to_a_person(heading):
    meaning = check_meaning(heading)
    assert meaning is None or of_ticks(meaning).sure < SURE


# Such words head columns of anything.
GENERIC = (
    "left right date notes note ok no yes x name in out total type value level gap top bottom centre check comments "
    "done by time start end number qty leaf door frame jamb size width height day week remarks status result pass fail "
    "score a b c d 1 2 3 l r m h w before after inside outside tight loose gaps levels plumb square packers photo sign "
    "item part cost price hours team job ref customer site"
)


@pytest.mark.parametrize("word", GENERIC.split())
def test_a_generic_word_alone_names_no_reading_and_no_check(word):
    for meaning in (reading_meaning(word), check_meaning(word)):
        assert meaning is None or meaning.sure < SURE


def test_columns_under_generic_words_are_left_to_a_person(empty_firm):
    add_doors(empty_firm, [f"G{n}" for n in range(6)])
    heads = ["Door", "Left", "Right", "OK", "No", "Notes", "Gap", "Level", "Plumb", "Value"]
    rows = [[f"G{n}", n, n + 1, "yes", n + 1, "dry day", 3, 1, 2, 5] for n in range(6)]
    write_sheets(empty_firm.folder / "g.xlsx", {"G": [heads, *rows]})
    with suppress(UserError):
        matched(empty_firm, "g.xlsx")
        empty_firm.take_in()
    for record in ("readings", "checks", "callbacks"):
        assert not empty_firm.out.exists() or empty_firm.ask(f"SELECT count(*) FROM {record}") == [(0,)]


@pytest.fixture(scope="module")
def table():
    return tomllib.loads(files("pipeline.ingest.matching.words").joinpath("vocabulary.toml").read_text("utf-8"))


def test_no_way_of_writing_folds_to_another_of_its_list(table):
    lists = {
        (f"columns.{record}", name): ways
        for record, columns in table["columns"].items()
        for name, ways in columns.items()
    }
    lists |= {(kind, name): ways for kind in ("measures", "checks") for name, ways in table[kind].items()}
    for (kind, name), ways in lists.items():
        is_phrase = kind in ("measures", "checks")
        said = [
            (frozenset(words_of(way.replace("+", ""))), way.count("+")) if is_phrase else words_of(way) for way in ways
        ]
        assert len(said) == len(set(said)), (kind, name)


def test_every_word_of_the_other_lists_says_something_of_its_own(table):
    same = {written: meant for meant, ways in table["same"].items() for written in ways}
    for meant, ways in table["same"].items():
        assert all(words_of(way) == (meant,) and way != meant and way.isalpha() for way in ways), meant
    for column, made in table["composed"].items():
        words = [same.get(word, word) for word in (*made["things"], *made["beside"])]
        assert len(words) == len(set(words)), column
        # words that add nothing are taken out of headings before
        assert not set(words) & set(table["empty"]["words"]), column
    for column, parts in table["parts"].items():
        assert all(len(ways) == len(set(map(words_of, ways))) for ways in parts), column
    for column, meanings in table["words"].items():
        ways = [way for word, ways in meanings.items() for way in (word.replace("_", " "), *ways)]
        assert len(ways) == len(set(ways)), column


@pytest.mark.parametrize(
    ("written", "colour"),
    [("RAL 7016", "dark"), ("7016 matt", "dark"), ("RAL 9010 gloss", "light"), ("RAL 9016 / RAL 7016", None)],
)
def test_numbers_of_a_colour_chart_are_light_or_dark_where_they_plainly_are(written, colour):
    assert meant_by(written, trade_words("colour")) == colour


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        ("Leaves (mm, N)", "Leaves"),
        ("Leaf 1 [mm / kg]", "Leaf 1"),
        ("Sill left (mm or in)", "Sill left (mm or in)"),
        ("Sill left (m, mm)", "Sill left (m, mm)"),
    ],
)
def test_units_of_several_kinds_say_none_and_two_of_one_kind_stay_open(heading, name):
    assert split_unit(heading) == (name, None)
