"""What a door's sheet says and draws: the answer first, what is not recorded, hostile text as text, no person."""

import re
from datetime import date
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from pipeline.door.captions import cause_words
from pipeline.door.drawings.causes import Share, Shares, draw_causes
from pipeline.door.paper import drawing_svg, wrapped
from pipeline.door.people import People
from pipeline.door.sheet import DoorSheet, render, sheet_of
from pipeline.door.terminal import lines_of
from pipeline.report.drawing.lettering import width
from pipeline.report.drawing.pencils import RED
from tests.door.rows import HOSTILE, call, cause, deviation, limit, line, reading, trail

SILL = line("sill_height", "sill", {0: 100.0, 1000: 101.0, 2000: 102.0, 3000: 103.0, 4000: 104.0})
OUT = {
    "readings": SILL,
    "deviations": [deviation("sill_level_error", 4.0, uncertainty=0.1)],
    "limits": [limit("sill_level_error", 4.0, 3.0, "out"), limit("jamb_twist", None, 3.0, "not recorded")],
}


def called(*calls: tuple) -> dict:
    return {"callbacks": [row for row, _ in calls], "faults": [fault for _, faults in calls for fault in faults]}


def texts(sheet: DoorSheet, key: str) -> str:
    """The words of one drawing, wide form."""
    view = next(view for view in sheet.views if view.key == key)
    return " | ".join(re.findall(r">([^<]+)</text>", view.svg[720]))


@pytest.mark.parametrize(
    ("heights", "level", "told"),
    [
        # the readings of a sill that dips: its ends differ by 1.7 mm, the line through all five by 1.6 mm
        ({0: 7.2, 364: 4.3, 728: 3.5, 1091: 4.9, 1455: 8.9}, 1.6, ("rises 1.7 mm", "drawn thin, rises 1.6 mm")),
        ({0: 5.0, 1000: 4.0, 2000: 3.5}, 1.5, ("falls 1.5 mm", "drawn thin, falls 1.5 mm")),
        ({0: 5.0, 1000: 6.0, 2000: 5.0}, 0.0, ("is level", "drawn thin, is level")),
    ],
)
def test_it_is_said_why_the_numbers_under_the_sill_are_not_how_far_it_is_out_of_level(heights, level, told) -> None:
    sheet = sheet_of(trail(readings=line("sill_height", "sill", heights), deviations=[
        deviation("sill_level_error", level), deviation("sill_bow", 1.0),
    ]))  # fmt: skip
    page = render(sheet)
    ends, fitted = told
    assert f"From its first reading to its last the sill {ends}; the straight line that fits all of them" in page
    assert f"best, {fitted}, and that is out of level" in page
    assert "Bowed or dipped is how far a reading lies from that line." in page


def test_a_sill_that_was_not_read_along_its_length_is_not_explained() -> None:
    parts = {"readings": line("sill_height", "sill", {0: 1.0}), "deviations": [deviation("sill_level_error", 1.0)]}
    assert "its first reading to its last" not in render(sheet_of(trail(**parts)))


def test_the_headline_counts_the_limits_it_is_beyond() -> None:
    limits = [limit("sill_level_error", 4.0, 3.0, "out"), limit("jamb_twist", 1.0, 3.0, "within")]
    deviations = [*OUT["deviations"], deviation("jamb_twist", 1.0)]
    sheet = sheet_of(trail(**(OUT | {"limits": limits, "deviations": deviations})))
    assert sheet.headline == "Door D-7: beyond 1 of the 2 limits it could be held against."


def test_the_headline_is_the_answer() -> None:
    calls = called(
        call("C1", date(2024, 3, 1), ("stiff_running", "episode")),
        call("C2", date(2024, 3, 9), ("stiff_running", "repeat")),
    )
    causes = [
        cause("C1", "sill_level_error", 0.49, 0.34, 0.64), cause("C1", "seal", 0.5, 0.05, 0.9),
        cause("C1", "unexplained", 0.01, 0.0, 0.1, is_recorded=None),
    ]  # fmt: skip
    effects = [
        {
            "fault": "stiff_running",
            "deviation": "sill_level_error",
            "doors": 932,
            "events": 49,
            "words": "stiff running",
        }
    ]
    sheet = sheet_of(trail(**OUT, **calls, causes=causes, effects=effects))
    assert sheet.headline == "Door D-7: beyond the one limit it could be held against."
    assert sheet.do == "Watch: sill level error 4 mm (limit 3): level it."
    assert sheet.came_back == (
        "It was called back 2 times in 1.4 years, 1 of them with a new fault. What most surely accounts for a part "
        "of it: sill level error, 49 % (34 to 64) of the call for stiff running on 1\u00a0March\u00a02024."
    )
    assert sheet.lead[0].startswith(sheet.came_back)
    assert "That part rests on 932 doors and 49 first callbacks for stiff running of the whole firm" in sheet.lead[0]


def test_what_to_watch_is_told_with_what_keeps_it_within_and_the_rest_is_named() -> None:
    names = ("sill_level_error", "jamb_twist", "head_bow", "sill_bow")
    found = {
        "deviations": [
            *(deviation(name, 4.0) for name in names),
            deviation("track_clean", 1.0, how="checks", do="wipe"),
        ],
        "limits": [limit(name, 4.0, 3.0, "out") for name in names],
    }
    assert sheet_of(trail(**found)).do == (
        "Watch: sill level error 4 mm (limit 3): level it. Jamb twist 4 mm (limit 3): level it. Head bow 4 mm (limit "
        "3): level it. Also sill bow 4 mm (limit 3) and track clean, failed."
    )
    failed = {"deviations": [deviation("track_clean", 1.0, how="checks", do="wipe it", words="track not clean")]}
    assert sheet_of(trail(**failed)).do == "Watch: track not clean, failed: wipe it."
    unsure = OUT | {"limits": [limit("sill_level_error", 3.1, 3.0, "undecided")]}
    assert sheet_of(trail(**unsure)).do == (
        "Read again, the instrument could not tell: sill level error 3.1 mm (limit 3)."
    )
    assert sheet_of(trail()).do == ""


@pytest.mark.parametrize(("low", "is_claimed"), [(0.004, False), (0.02, True)])
def test_no_cause_is_claimed_whose_interval_reaches_nothing(low: float, is_claimed: bool) -> None:
    calls = called(call("C1", date(2024, 3, 1), ("stiff_running", "episode")))
    causes = [
        cause("C1", "sill_level_error", 0.6, low, 0.9),
        cause("C1", "jamb_twist", 0.3, 0.2, 0.5, is_recorded=False),
    ]
    sheet = sheet_of(trail(**OUT, **calls, causes=causes))
    assert ("What most surely accounts for a part of it: sill level error" in sheet.came_back) == is_claimed
    assert ("Nothing that was read of it surely accounts" in sheet.came_back) != is_claimed
    says = next(block.says for block in sheet.blocks if block.key == "causes")
    assert ("nothing that was read surely accounts" in says) != is_claimed


def test_a_cause_that_only_the_trade_expects_is_marked_and_never_claimed() -> None:
    calls = called(call("C1", date(2024, 3, 1), ("stiff_running", "episode")))
    causes = [cause("C1", "sill_level_error", 0.6, 0.3, 0.9, evidence="too_few")]
    told = trail(**OUT, **calls, causes=causes)
    assert "Nothing that was read of it surely accounts" in sheet_of(told).came_back
    assert cause_words(causes[0]) == "sill level error, expected only"
    assert any("may go with sill level error" in line and "as the trade expects" in line for line in lines_of(told))
    passed = trail(**OUT, **calls, causes=[causes[0] | {"through": "threshold gaps uneven"}])
    assert cause_words(passed.causes[0]) == "sill level error, by way of threshold gaps uneven"
    assert any(line.endswith("by way of threshold gaps uneven") for line in lines_of(passed))


def test_what_a_cause_stands_on_is_never_cut_and_its_number_never_runs_off() -> None:
    name = "a name with more words than there is room for in a drawing"
    share = Share(name, ", expected only", 0.004, 0.0, 0.1, True)
    svg, _ = draw_causes((Shares("A stiff running", (share,)),), 316, True)
    written = [element for element in ElementTree.fromstring(f"<svg>{svg}</svg>").iter("text") if element.text]
    assert " ".join(one.text for one in reversed(written) if "A stiff" not in one.text).endswith(
        f"{name} expected only"
    )
    (number,) = (one for one in written if "under 1" in one.text)
    assert float(number.get("x", "")) >= width(number.text) / 2


@pytest.mark.parametrize("is_narrow", [False, True])
def test_a_causes_name_is_whole_where_what_is_said_of_it_takes_a_line_of_its_own(is_narrow) -> None:
    share = Share("frame twisted between its jambs", ", not read here, expected only", 0.2, 0.1, 0.3, False)
    svg, foot = draw_causes((Shares("A draught", (share, share)),), 312 if is_narrow else 720, is_narrow)
    written = [(float(one.get("y", "")), one.text) for one in ElementTree.fromstring(f"<svg>{svg}</svg>").iter("text")]
    names = sorted(y for y, text in written if text == "frame twisted between its jambs")
    marks = sorted(y for y, text in written if text == "not read here, expected only")
    assert len(names) == len(marks) == 2
    heights = sorted([*names, *marks])
    assert all(below - above >= 14 for above, below in pairwise(heights))  # lines of 12 px are kept apart
    assert marks[-1] < foot


def test_no_limit_under_a_sill_runs_through_its_numbers() -> None:
    frame = next(view for view in sheet_of(trail(**OUT)).views if view.key == "frame")
    drawn = ElementTree.fromstring(f"<svg>{frame.svg[720]}</svg>")
    chains = [
        one.get("d", "") for one in drawn.iter("path") if one.get("stroke") == RED and one.get("stroke-dasharray")
    ]
    lowest = max(float(y) for chain in chains for y in re.findall(r",([0-9.]+)", chain))
    numbers = [float(one.get("y", "")) for one in drawn.iter("text") if one.text in ("0", "+1", "+2", "+3", "+4")]
    assert chains
    assert len(numbers) == 5
    assert min(numbers) - 10 >= lowest  # digits of 12 px are some 9 px high


def test_who_called_is_told_only_where_it_is_somebody_else() -> None:
    row = {"customer": "Invented Person", "address": "12 Invented Road", "postcode": None, "note": "it sticks"}
    people = People(row | {"postcode": "ZZ1 1EX"}, {"C1": row, "C2": row | {"customer": "Another", "note": None}})
    assert people.said_of("C1") == "it sticks"
    assert people.said_of("C2") == "Another, 12 Invented Road: note not on record, or erased"


def test_a_good_door_is_said_to_be_within_and_not_called_back() -> None:
    within = OUT | {"limits": [limit("sill_level_error", 1.0, 3.0, "within")]}
    sheet = sheet_of(trail(**within))
    assert sheet.headline == "Door D-7: within the one limit it could be held against."
    assert sheet.came_back == "It was not called back in the 1.4 years it was watched."
    assert sheet.do == ""


def test_undecided_is_neither_out_nor_within() -> None:
    unsure = OUT | {"limits": [limit("sill_level_error", 3.1, 3.0, "undecided")]}
    sheet = sheet_of(trail(**unsure))
    assert "beyond no limit for certain, 1 of 1 cannot be decided" in sheet.headline
    frame = next(view for view in sheet.views if view.key == "frame").svg[720]
    assert "url(#hatch-undecided)" in frame


def test_of_a_door_without_readings_only_what_is_known_is_drawn() -> None:
    sheet = sheet_of(trail())
    assert "nothing is recorded that a limit can be held against" in sheet.headline
    assert [view.key for view in sheet.views] == ["frame", "life"]
    assert texts(sheet, "frame") == "leaf 1 | leaf 2 | leaf 3 | leaf 4 | 4,000 mm | 1 m"
    page = render(sheet)
    assert "Not drawn: the leaves and their gaps and fixings and packers." in page


def test_a_door_of_unknown_size_is_not_drawn_and_said_so() -> None:
    sheet = sheet_of(trail(facts={"width_mm": None, "height_mm": None, "leaves": None}, readings=SILL))
    assert [view.key for view in sheet.views] == ["life"]
    assert "for want of the door&#39;s size" in render(sheet)


def test_a_slip_of_two_metres_is_told_and_not_drawn() -> None:
    slip = line("sill_height", "sill", {0: 1.0, 4000: 2001.0})
    sheet = sheet_of(trail(readings=slip))
    assert "+2,000" not in texts(sheet, "frame")
    assert "and the sill, whose readings lie too far apart to be anything but a slip" in render(sheet)


@pytest.mark.parametrize("leaves", [1, 2, 3, 5, 7, 12])
def test_every_leaf_is_drawn_to_scale_in_its_place(leaves: int) -> None:
    gaps = [reading("head_gap", 5.0, f"leaf_{number}", station=station)
            for number in range(1, leaves + 1) for station in ("hinge", "lock")]  # fmt: skip
    sheet = sheet_of(trail(facts={"leaves": leaves, "width_mm": 800.0 * leaves}, readings=gaps))
    for size in (720, 312):
        svg = next(view for view in sheet.views if view.key == "leaves").svg[size]
        assert re.findall(r'font-weight="700"[^>]*>(\d+)</text>', svg) == [str(n) for n in range(1, leaves + 1)]
        assert max(float(x) for x in re.findall(r"[ML]([\d.]+),", svg)) <= size


def test_the_exaggeration_is_stated_and_true() -> None:
    sheet = sheet_of(trail(**OUT))
    frame = next(view for view in sheet.views if view.key == "frame").svg[720]
    factor = int(re.search(r"drawn (\d+) times", frame)[1])
    stations = [(float(x), float(y)) for x, y in re.findall(r'<polygon points="([\d.]+),([\d.]+) ', frame)[-5:]]
    scale = (stations[-1][0] - stations[0][0]) / 4000  # px a mm of the door
    assert (stations[0][1] - stations[-1][1]) / 4.0 == pytest.approx(factor * scale, abs=0.06)


def test_limits_are_red_chain_lines_hatched_beyond() -> None:
    frame = next(view for view in sheet_of(trail(**OUT)).views if view.key == "frame").svg[720]
    assert re.search(r'stroke="#b5321f" stroke-width="1" stroke-dasharray="14 3 2 3"', frame)
    assert "url(#hatch-out)" in frame
    assert "limit 3" in frame


def test_what_is_not_recorded_is_said() -> None:
    fine = reading("side_gap", None, "leaf_1")
    later = reading("sill_height", 3.0, "sill", position_mm=0.0, state="after its time")
    page = render(sheet_of(trail(**(OUT | {"readings": [*SILL, fine, later]}))))
    assert "Not read, so not held against a limit: jamb twist." in page
    assert "1 reading only said to be fine, without a number" in page
    assert "1 reading taken after handover or a call" in page


def test_the_life_is_in_order_and_says_what_each_call_was() -> None:
    calls = called(
        call("C0", date(2024, 1, 15), ("incomplete_work", "pre_handover")),
        call("C1", date(2024, 3, 1), ("draught", "episode"), ("loose_frame", "repeat")),
        call("C2", date(2025, 5, 1), ("draught", "outside")),
    )
    ended = {"removed_on": date(2025, 5, 30), "until_on": date(2025, 1, 20), "ended_by": "warranty"}
    sheet = sheet_of(trail(facts=ended, **calls))
    items = next(block for block in sheet.blocks if block.key == "life-list").items
    told = [f"{item.lead} {item.text}" for item in items]
    assert [words.split(".")[0].replace("\u00a0", " ") for words in told] == [
        "10 January 2024", "A 15 January 2024", "20 January 2024", "B 1 March 2024", "20 January 2025", "C 1 May 2025",
        "30 May 2025",
    ]  # fmt: skip
    assert "before handover" in told[1]
    assert "opened a new fault" in told[3]
    assert "outside the time" in told[5]
    assert "warranty ends" in told[4]
    assert "Removed from service" in told[6]
    assert "(readings.csv, row 2)" in told[3]


def test_who_may_be_hurt_is_told_before_anything_else() -> None:
    off = called(call("C1", date(2024, 3, 1), ("roller_damage", "episode")))
    sheet = sheet_of(trail(**off))
    page, svg = render(sheet), drawing_svg(sheet)
    assert page.index("Do not operate this door") < page.index('class="lead"')
    assert svg.index("Do not operate this door") < svg.index("The door seen from inside")
    seen = off | {"callbacks": [off["callbacks"][0] | {"visited_on": date(2024, 3, 2)}]}
    assert sheet_of(trail(**seen)).warning == ""
    assert sheet_of(trail(**OUT)).warning == ""


def test_hostile_words_are_text_on_the_sheet_and_in_the_drawing() -> None:
    facts = {"install_id": HOSTILE, "crew": HOSTILE, "product": HOSTILE, "firm": HOSTILE}
    calls = called(call(HOSTILE, date(2024, 3, 1), (HOSTILE, "episode")))
    rows = [row | {"member": HOSTILE, "station": HOSTILE, "file": HOSTILE, "words": HOSTILE} for row in SILL]
    limits = [limit("sill_level_error", 4.0, 3.0, "out", words=HOSTILE, limit=HOSTILE, source=HOSTILE)]
    sheet = sheet_of(trail(**(OUT | calls | {"facts": facts, "readings": rows, "limits": limits})))
    page, svg = render(sheet), drawing_svg(sheet)
    assert "<img" not in page
    assert "<img" not in svg
    assert "\u202e" not in page
    assert "\u202e" not in svg
    ElementTree.fromstring(svg)


def test_a_number_without_end_does_not_break_the_drawing() -> None:
    sheet = sheet_of(trail(facts={"install_id": "x" * 10_000, "crew": "y" * 10_000, "firm": "z\x00\ufffe" * 5_000}))
    assert len(sheet.headline) < 400
    ElementTree.fromstring(drawing_svg(sheet))


def test_words_are_wrapped_to_what_fits() -> None:
    lines = wrapped("one two three " * 20 + "x" * 500, 300)
    assert all(width(said) <= 300 for said in lines)
    assert " ".join(lines).startswith("one two three one")


def test_the_page_is_complete_in_itself() -> None:
    page = render(sheet_of(trail(**OUT)))
    assert not re.search(r'(?:src|href)="(?!#|data:)', page)
    assert "<script" not in page
