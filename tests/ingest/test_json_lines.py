"""JSON lines give the records that the same CSV gives, by both paths, and what is wrong costs its own line only."""

import csv
import io
import json
import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.ingest.conftest import Firm
from tests.ingest.test_bulk import CSV, INSTALLS, assert_same

READING = {"install_id": "D1", "measure": "fixing", "member": "head", "station": "1", "value": 150.5, "unit": "mm"}
MOST_BYTES = 1 << 40


def lines_of(text: str) -> str:
    """The rows of a CSV as JSON lines of strings; rows of the wrong length left out."""
    header, *rows = csv.reader(io.StringIO(text))
    return "".join(json.dumps(dict(zip(header, row, strict=True))) + "\n" for row in rows if len(row) == len(header))


def contents(firm: Firm, shift: int = 0) -> list[object]:
    """All that readings come to. shift: how far the numbers of its rows lie from those of a CSV."""
    firm.take_in()
    row = f'"row" + {shift} AS "row"'
    return [
        sorted(map(repr, firm.ask(f"SELECT * EXCLUDE (file) REPLACE ({row}) FROM readings_history"))),
        sorted(map(repr, firm.ask(f'SELECT * EXCLUDE (file) REPLACE (({row[:-9]})::INT AS "row") FROM rejections'))),
        firm.account("readings"),
        sorted(map(repr, firm.ask("FROM readings"))),
    ]


def by_path(new_firm, monkeypatch, name: str, smallest: int, files: dict[str, str | bytes], shift: int = 0):
    monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", dict.fromkeys((".csv", ".jsonl"), smallest))
    firm = new_firm(name)
    firm.write("installs.csv", INSTALLS)
    for file, text in files.items():
        firm.write(file, text)
    return contents(firm, shift), firm.ask("SELECT count(*) FROM loads WHERE is_large")[0][0]


@pytest.mark.parametrize("form", ["messy", "few columns"])
def test_every_path_gives_what_the_csv_gives(new_firm, monkeypatch, form):
    rows = [row for row in csv.reader(io.StringIO(CSV[form])) if len(row) == len(CSV[form].split("\n")[0].split(","))]
    written = io.StringIO()
    csv.writer(written, lineterminator="\n").writerows(rows)
    text, lines = written.getvalue(), lines_of(written.getvalue())
    expected, _ = by_path(new_firm, monkeypatch, "csv", MOST_BYTES, {"readings.csv": text})
    as_text, n_large = by_path(new_firm, monkeypatch, "text", MOST_BYTES, {"readings.jsonl": lines}, shift=1)
    assert n_large == 0
    typed, n_large = by_path(new_firm, monkeypatch, "typed", 0, {"readings.jsonl": lines}, shift=1)
    assert n_large == 1
    assert_same(as_text, expected)
    assert_same(typed, expected)


ODD_CELLS = [
    3, 3.5, -0.0, 0, 1.234, 1e3, 1e400, 12345678901234567890123, True, False, None, "", " 7 ", "1.234", "1,234", "3,5",
    [1, 2], {"a": 1}, [], {}, "[1]", "true", "1e3", "NaN", float("nan"), float("inf"), "é\u2028\"\\", "2025-01-10",
    45667,
]  # fmt: skip
ODD_LINES = {
    "broken": '{"install_id": "D1", "measure": ',
    "not json": "D1,fixing,head,1,150,mm",
    "a list": '["D1", "fixing"]',
    "a number": "17",
    "twice": '{"install_id": "D1", "install_id": "D2", "measure": "fixing", "value": 3, "unit": "mm"}',
    "two objects": json.dumps(READING) + json.dumps(READING),
    "half a character": '{"install_id": "D1", "station": "\\ud800", "measure": "fixing", "value": 3, "unit": "mm"}',
    "a zero": '{"install_id": "D1", "station": "\\u0000", "measure": "fixing", "value": 3, "unit": "mm"}',
    "deep": '{"install_id": ' + "[" * 10_000 + "]" * 10_000 + "}",
    "deep objects": '{"install_id": ' + '{"a":' * 10_000 + "1" + "}" * 10_001,
    "a long number": '{"install_id": "D1", "measure": "fixing", "value": ' + "9" * 5_000 + ', "unit": "mm"}',
    "a last comma": '{"install_id": "D1", "measure": "fixing", "station": "5", "value": 3, "unit": "mm",}',
    "empty": "{}",
    "unknown only": '{"remark": "x"}',
    "an unknown key": json.dumps({**READING, "station": "9", "remark": [1]}),
    "another order": json.dumps(dict(reversed({**READING, "station": "10"}.items()))),
    "decimals": '{"install_id": "D1", "measure": "fixing", "station": 1.50, "value": 3.5e0, "unit": "mm"}',
}


@pytest.mark.parametrize("lines", ["cells", *ODD_LINES])
def test_both_paths_read_odd_lines_alike(new_firm, monkeypatch, lines):
    if lines == "cells":
        odd = [{**READING, "station": f"{key} {n}", key: cell} for key in READING for n, cell in enumerate(ODD_CELLS)]
        written = [json.dumps({**row, "read_on": "2025-01-10"}) for row in odd]
    else:
        written = [ODD_LINES[lines]]
    good = [json.dumps({**READING, "station": f"good {number}"}) for number in range(2)]
    content = "\n".join([good[0], *written, good[1]]) + "\n"
    found = {}
    for name, smallest in (("text", MOST_BYTES), ("typed", 0)):
        found[name], _ = by_path(new_firm, monkeypatch, name, smallest, {"readings.jsonl": content})
    assert_same(found["typed"], found["text"])
    n_read, *others = found["text"][2]
    assert n_read == sum(others) == len(written) + 2 - (lines == "empty")


REASONS = {
    "broken": "the line is no JSON from character 32 on; write one whole object on it",
    "a list": 'the line holds no JSON object; write one, such as {"install_id": "D1"}',
    "twice": "the key 'install_id' stands twice in the line; keep one",
    "half a character": "its text is damaged; save the line again as UTF-8",
    "a zero": "a zero character (\\u0000) stands in the line; take it out",
    "deep": "the line is nested too deeply; give each key one text or number",
}


@pytest.mark.parametrize("kind", REASONS)
def test_a_line_that_is_no_object_is_set_aside_with_its_number(firm, kind):
    (firm.folder / "readings.csv").unlink()
    firm.write("readings.jsonl", "\n".join([json.dumps(READING), "", ODD_LINES[kind], json.dumps(READING)]))
    firm.take_in()
    assert firm.set_aside() == [("readings.jsonl", 3, None, None, "row")]
    assert firm.reasons() == [REASONS[kind]]
    assert firm.account("readings") == (3, 1, 1, 1)


def test_a_cell_that_holds_a_list_is_left_empty_or_sets_its_row_aside(firm):
    (firm.folder / "readings.csv").unlink()
    rows = [{**READING, "station": [1]}, {**READING, "instrument": {"a": 1}}, {**READING, "install_id": ["D1"]}]
    firm.write("readings.jsonl", "".join(json.dumps(row) + "\n" for row in rows))
    firm.take_in()
    assert [(row, column, scope) for _, row, column, _, scope in firm.set_aside()] == [
        (1, "station", "cell"), (2, "instrument", "cell"), (3, "install_id", "row"),
    ]  # fmt: skip
    assert set(firm.reasons()) == {"this holds a list, an object or bytes; write one text or number"}
    assert firm.ask("SELECT count(*), count(station), count(instrument) FROM readings") == [(2, 1, 0)]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty; write one JSON object a line"),
        (b"\xef\xbb\xbf \n\n", "the file is empty"),
        (random.Random(1).randbytes(5000), "this is not text; save it as JSON lines, UTF-8"),
        (b"PK\x03\x04 and so on", "this is not JSON lines but a workbook; give it the ending .xlsx"),
        (b'[{"install_id": "D1"}]\n', "this is one JSON list; write one object a line"),
        (b'{\n "install_id": "D1"\n}\n', "none of its lines is a JSON object"),
        (b'{"install_id": "D1", "measure": "fixing", "value": 3}\n', "the column 'unit' is missing; add it to the "),
        (b"".join(b'{"k%d": 1}\n' % n for n in range(2_001)), "its lines have more than 2,000 different keys"),
        (b'{"install_id": "' + b"x" * (3 << 20) + b'"}', "none of its lines is a JSON object"),
    ],
    ids=["empty", "blank", "bytes", "workbook", "list", "spread", "no unit", "keys", "one long line"],
)  # fmt: skip
def test_a_file_that_is_not_what_it_says_is_refused_in_one_line(firm, content, words):
    (firm.folder / "readings.csv").unlink()
    firm.write("readings.jsonl", content)
    firm.take_in()
    assert firm.set_aside() == [("readings.jsonl", None, None, None, "file")]
    assert words in firm.reasons()[0]


def test_a_line_too_long_and_bytes_that_are_no_utf8_cost_their_own_lines(firm):
    (firm.folder / "readings.csv").unlink()
    long = json.dumps({**READING, "station": "x" * (5 << 20)}).encode()
    damaged = json.dumps({**READING, "station": "é"}, ensure_ascii=False).encode("cp1252")
    lines = [b"\xef\xbb\xbf" + json.dumps(READING).encode(), long, damaged, json.dumps(READING).encode()]
    firm.write("readings.jsonl", b"\r\n".join(lines))
    firm.take_in()
    assert [row for _, row, *_ in firm.set_aside()] == [2, 3]
    assert firm.account("readings") == (4, 1, 2, 1)


def test_keys_are_found_as_headings_are_and_unknown_ones_are_said(firm):
    (firm.folder / "readings.csv").unlink()
    row = {"Install ID": "D1", "measure": "fixing", "value (cm)": 15, "remark": "x"}
    firm.write("readings 2026.jsonl", json.dumps(row) + "\n")
    (one,) = firm.take_in().unread
    assert firm.ask("SELECT value FROM readings") == [(150.0,)]
    assert (one.file, one.column.heading, one.column.state) == ("readings 2026.jsonl", "remark", "no such column")


def test_doors_with_their_people_come_as_json_lines(empty_firm):
    door = {"customer": "Mx Invented", "install_id": 17, "crew": "Alder", "fitted_on": "2025-01-10", "width_mm": 2999.5}
    empty_firm.write("installs.jsonl", json.dumps(door) + "\n")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, width_mm FROM installs") == [("17", 2999.5)]
    assert empty_firm.people("SELECT install_id, customer FROM install_people") == [("17", "Mx Invented")]


json_cells = st.one_of(
    st.none(), st.booleans(), st.integers(-(10**6), 10**6), st.floats(allow_nan=False, allow_infinity=False),
    st.decimals(-9_999, 9_999, places=3).map(float), st.text(max_size=6),
    st.sampled_from(["3,5", "1.234", "1,234", "mm"]),
)  # fmt: skip


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from([*READING, "position_mm", "read_on"]), json_cells), min_size=1, max_size=12))
def test_whatever_a_key_holds_both_paths_agree(tmp_path_factory, cells):
    rows = [{**READING, "station": f"s{number}", key: cell} for number, (key, cell) in enumerate(cells)]
    content = "".join(json.dumps(row) + "\n" for row in [{**READING, "position_mm": 1, "read_on": "2025-01-10"}, *rows])

    def new_firm(name: str) -> Firm:
        folder: Path = tmp_path_factory.mktemp(name)
        (folder / "records").mkdir()
        return Firm(folder / "records", folder / "out")

    with pytest.MonkeyPatch.context() as monkeypatch:
        text, _ = by_path(new_firm, monkeypatch, "text", MOST_BYTES, {"readings.jsonl": content})
        typed, _ = by_path(new_firm, monkeypatch, "typed", 0, {"readings.jsonl": content})
    assert_same(typed, text)
