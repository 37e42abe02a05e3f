"""A mapped wide CSV by the typed path and as text: the same records, account, trail and sentences."""

import random

import pytest

from pipeline.ingest import reading

MAPPING = """
[[sheet]]
file = "wide*.csv"
ignore = ["Remarks"]
[sheet.readings]
install_id = "Door"
read_on = "Read on"
instrument = { always = "gauge 1" }
share_of = "Width"
each = [
  { column = "Sill L", measure = "sill_height", station = "left", share = 0.0, unit = "mm" },
  { column = "Sill Q", measure = "sill_height", station = "quarter", share = 0.25, unit = "mm" },
  { column = "Sill 900", measure = "sill_height", position_mm = 900, unit = "cm" },
  { column = "Gap 1H", measure = "head_gap", member = "leaf_1", station = "hinge", unit = "mm" },
  { column = "Gap 1L", measure = "head_gap", member = "leaf_1", station = "lock", unit = "mm" },
]
[sheet.checks]
install_id = "Door"
each = [{ column = "T&H", check = "toe_and_heel", member = "leaf_1" }, { column = "Track", check = "track_clean" }]
"""
HEAD = "Door,Read on,Width,Sill L,Sill Q,Sill 900,Gap 1H,Gap 1L,T&H,Track,Remarks"
ODD = ["3mm", "1/8", "lots", "-1", "1e400", "1.250", " 4 ", "ok", "", "0", "300", "-", " N/A", "2 low", "+ 3"]


def lines(n_rows, seed):
    """Rows of readings, some of them odd; a title, totals and a repeated header among them."""
    draw = random.Random(seed)
    found = ["Invented Doors,,,,,,,,,,", HEAD]
    for number in range(n_rows):
        cells = [
            f"D{number % 50}",
            f"2025-0{1 + number % 9}-1{number // 50 % 10}",
            str(draw.choice([3000, 4201.5, "wide"])),
        ]
        cells += [str(draw.randint(0, 40) / 4) for _ in range(5)]
        cells += [draw.choice(["pass", "fail", "yes", "perhaps", ""]), "pass", "fine"]
        if draw.random() < 0.1:
            cells[draw.randint(3, 7)] = draw.choice(ODD)
        found.append(",".join(cells))
        if number % 97 == 96:
            found += ["Total,,,-,99,99,n/a,99,,,", HEAD, ",2025-01-01,3000,-,1,1,1,1,pass,pass,no door"]
    return "\n".join(found) + "\n"


def records_of(firm):
    notes = firm.take_in().notes
    ask = firm.ask
    columns = (
        'install_id, measure, member, station, position_mm, value, unit, instrument, read_on, "row", "column", raw'
    )
    return (
        sorted(map(repr, ask(f"SELECT {columns}, state FROM readings_history"))),
        sorted(
            map(
                repr,
                ask('SELECT install_id, "check", member, outcome, "row", "column", raw, state FROM checks_history'),
            )
        ),
        sorted(map(repr, ask("FROM rejections"))),
        ask("SELECT record, rows_read, rows_taken_in, rows_set_aside, rows_repeated FROM files ORDER BY ALL"),
        notes,
    )


def write_firm(firm, n_rows, seed):
    doors = "\n".join(f"D{number},Alder,2025-01-01" for number in range(50))
    firm.write("installs.csv", f"install_id,crew,fitted_on\n{doors}\n")
    firm.write("fitback.toml", MAPPING)
    firm.write("wide 1.csv", lines(n_rows, seed))


MARKS = """
[[sheet]]
file = "marked.csv"
[sheet.readings]
install_id = "Door"
read_by = { marks = { "Ash" = "Ash", "Birch" = "Birch" } }
each = [{ column = "Sill L", measure = "sill_height", station = "left", position_mm = 0, unit = "mm" }]
"""


def test_marks_that_say_who_read_are_read_in_a_large_file_too(new_firm, monkeypatch):
    monkeypatch.setattr(reading, "SMALLEST_BULK_BYTES", {".csv": 0, ".parquet": 0})
    firm = new_firm("marked")
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-01\nD2,Alder,2025-01-01\n")
    firm.write("fitback.toml", MARKS)
    firm.write("marked.csv", "Door,Ash,Birch,Sill L\nD1,x,,1\nD2,,x,2\n")
    firm.take_in()
    assert firm.ask("SELECT install_id, read_by FROM readings ORDER BY 1") == [("D1", "Ash"), ("D2", "Birch")]


@pytest.mark.parametrize("rows", [["D1,Ash,1,2", 'D2,"""",3,4'], ["D1,Ash,1,2", "D2,Ash,3,ditto"]])
def test_ditto_marks_are_the_cell_above_in_a_large_file_too(new_firm, monkeypatch, rows):
    monkeypatch.setattr(reading, "SMALLEST_BULK_BYTES", {".csv": 0, ".parquet": 0})
    firm = new_firm("marked")
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-01\nD2,Alder,2025-01-01\n")
    columns = 'each = [{ column = "L", measure = "sill_height", position_mm = 0, unit = "mm" },'
    columns += '{ column = "R", measure = "sill_height", position_mm = 900, unit = "mm" }]'
    table = f'[[sheet]]\nfile = "wide.csv"\n[sheet.readings]\ninstall_id = "Door"\nread_by = "By"\n{columns}\n'
    firm.write("fitback.toml", table)
    firm.write("wide.csv", "\n".join(["Door,By,L,R", *rows]) + "\n")
    firm.take_in()
    last = 2 if "ditto" in rows[1] else 4
    assert firm.ask("SELECT read_by, value FROM readings ORDER BY install_id, position_mm") == [
        ("Ash", 1), ("Ash", 2), ("Ash", 3), ("Ash", last),
    ]  # fmt: skip


@pytest.mark.parametrize("seed", [1, 2])
def test_both_paths_give_the_same_records(new_firm, monkeypatch, seed):
    text, typed = new_firm("text"), new_firm("typed")
    for firm in (text, typed):
        write_firm(firm, 400, seed)
    by_text = records_of(text)
    monkeypatch.setattr(reading, "SMALLEST_BULK_BYTES", {".csv": 0, ".parquet": 0})
    by_type = records_of(typed)
    assert typed.ask("SELECT is_large FROM loads WHERE file = 'wide 1.csv'") == [(True,), (True,)]
    for one, other in zip(by_text, by_type, strict=True):
        assert one == other
