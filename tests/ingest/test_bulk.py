"""The typed path for large files takes in exactly what the text path does, row for row and reason for reason."""

import polars as pl
import pytest

INSTALLS = "install_id,crew,fitted_on\nD1,Alder,2025-01-10\nD2,Birch,2025-02-10\n"
HEADER = "install_id,measure,member,station,position_mm,value,unit,instrument,read_on,read_by"
CELLS = {
    "install_id": ["D1", "D2", "D9", "", "n/a", "TBC", "NULL", " D1", "D1\u00a0", "'=D1", '"D1"', '"D,1"'],
    "measure": ["fixing", "Fixing", "sill_height", "fixin", "", "frame_width", "temperature",
                "jamb_face", "seal_compression"],
    "member": ["head", "", "Left Jamb", "leaf_3", "leaf 03", "window", '"head"'],
    "station": ["1", "", "Top", "1a", "-"],
    "position_mm": ["0", "250.5", "", "-0", "1/2", "x", "99999", "1e3", "nan", "1_0", "+5", ".5"],
    "value": ["150", "150.0", "-0", "1/8", "ok", "", "inf", "-5", "1e400", "20001", "1,5", " 7 ", "0x10",
              "1_50", '"12"', "NaN",
              "3mm", "4 cm", "L 3", '"1,234"', '"1,234.5"', "1.234", "3 1/8", "12e0"],
    "unit": ["mm", "cm", "MM", "in", "inches", "", "deg", "mm/m", "N", "°C", "°F", "F", "quarter_turn", "furlong"],
    "instrument": ["T1", "", "t1"],
    "read_on": ["2025-01-10", "", "2025-1-5", "2025/01/05", "31/02/2025", "2025-01-10 10:00", "2025-01-10T25:00",
                "epoch", "infinity", "0025-01-05", "12025-01-05", "1899-12-31", "2199-12-31", "20250105"],
    "read_by": ["C1", "", "'-C1", "=C1"],
}  # fmt: skip
SURE = ["D1", "fixing", "head", "1", "0", "150", "mm", "T1", "2025-01-10", "C1"]


def messy_rows() -> list[str]:
    """Every odd cell once in an otherwise good row, good rows in between, and rows of the wrong length."""
    rows = []
    for place, cells in enumerate(CELLS.values()):
        for number, cell in enumerate(cells):
            row = [*SURE[:place], cell, *SURE[place + 1 :]]
            if place not in (3, 4):
                row[3] = f"{place}-{number}"
            rows += [",".join(row), ",".join([*SURE[:3], f"good {place}-{number}", *SURE[4:]])]
    rows.insert(7, "D1,fixing,head")
    rows.insert(20, ",".join([*SURE, "one more"]))
    rows.insert(21, ",".join([*SURE, "", ""]))
    rows.append(" , , , , , , , , , ")
    return rows


def contents(firm):
    firm.take_in()
    readings = firm.ask("SELECT * EXCLUDE (raw), CASE WHEN measure <> 'x' THEN raw END FROM readings_history")
    return (
        sorted(map(repr, readings)),
        sorted(map(repr, firm.ask("FROM rejections"))),
        firm.account("readings"),
        sorted(map(repr, firm.ask("FROM readings"))),
    )


def by_both_paths(new_firm, monkeypatch, name, content, n_large=1):
    found = []
    for path, smallest in (("text", 1 << 40), ("typed", 0)):
        monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", {".csv": smallest, ".parquet": smallest})
        firm = new_firm(path)
        firm.write("installs.csv", INSTALLS)
        firm.write(name, content) if isinstance(content, str | bytes) else content(firm.folder / name)
        found.append(contents(firm))
        assert firm.ask("SELECT count(*) FROM loads WHERE is_large") == [(n_large if path == "typed" else 0,)]
    return found


def assert_same(typed, text):
    for one, other in zip(typed, text, strict=True):
        if isinstance(one, list):
            assert (sorted(set(one) - set(other)), sorted(set(other) - set(one))) == ([], [])
        assert one == other


CSV = {
    "messy": "\n".join([HEADER, *messy_rows()]) + "\n",
    "carriage returns": "\r\n".join([HEADER, *messy_rows()]) + "\r\n",
    "no last line end": "\n".join([HEADER, *messy_rows()]),
    "byte order mark": "\ufeff" + "\n".join([HEADER, *messy_rows()]) + "\n",
    "few columns": "value,unit,measure,install_id\n12,mm,fixing,D1\n2,cm,sill_height,D1\n3,mm,sill_line,D2\n",
    "misfit first and last": "install_id,measure,value,unit\nD1\nD1,fixing,3,mm\nD1,fixing\n",
}


@pytest.mark.parametrize("form", CSV)
def test_large_csv_gives_what_the_text_gives(new_firm, monkeypatch, form):
    text, typed = by_both_paths(new_firm, monkeypatch, "readings.csv", CSV[form])
    assert_same(typed, text)
    assert typed[2][0] == sum(typed[2][1:])


DOUBTFUL = {
    "a quoted line break": 'install_id,measure,station,value,unit\nD1,fixing,"a\nb",3,mm\nD2,fixing,1,3,mm\n',
    "a quote in a cell": 'install_id,measure,station,value,unit\nD1,fixing,"a"b,3,mm\nD2,fixing,1,3,mm\n',
    "a blank line": "install_id,measure,station,value,unit\n\nD1,fixing,1,3,mm\n\n\nD2,fixing,1,x,mm\n",
    "mixed line ends": "install_id,measure,station,value,unit\nD1,fixing,1,3,mm\r\nD2,fixing,1,3,mm\n",
    "western European": "install_id,measure,station,value,unit\nD1,fixing,é,3,mm\n".encode("cp1252"),
}


@pytest.mark.parametrize("form", DOUBTFUL)
def test_csv_that_readers_may_split_differently_is_read_as_text(new_firm, monkeypatch, form):
    text, typed = by_both_paths(new_firm, monkeypatch, "readings.csv", DOUBTFUL[form], n_large=0)
    assert_same(typed, text)


def test_large_checks_give_what_the_text_gives(new_firm, monkeypatch):
    rows = [
        "install_id,check,member,outcome,checked_on",
        "D1,sill_bedded,,pass,2025-01-01",
        "D1,Sill bedded,,FAIL,",
        "D1,x,,pass,",
        "D2,toe_and_heel,Leaf 1,pass,x",
    ]
    text, typed = by_both_paths(new_firm, monkeypatch, "checks.csv", "\n".join(rows))
    assert_same(typed, text)


@pytest.mark.parametrize("typed_columns", [True, False])
def test_large_parquet_gives_what_the_text_gives(new_firm, monkeypatch, typed_columns):
    cells = [row.split(",") for row in messy_rows() if row.count(",") == 9 and '"' not in row]
    frame = pl.DataFrame(cells, schema=HEADER.split(","), orient="row")
    if typed_columns:
        frame = frame.with_columns(
            pl.col("value", "position_mm").cast(pl.Float64, strict=False),
            pl.col("read_on").str.to_date("%Y-%m-%d", strict=False),
        )
    text, typed = by_both_paths(new_firm, monkeypatch, "readings.parquet", frame.write_parquet)
    assert_same(typed, text)


def test_what_a_large_file_says_is_judged_again_like_any_other(firm, monkeypatch):
    monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", {".csv": 0, ".parquet": 0})
    firm.write(
        "readings more.csv",
        "install_id,measure,position_mm,value,unit\nD2,frame_width,,3000,mm\nD1,frame_width,0,9000,mm\nD7,frame_width,0,900,mm\n",
    )
    firm.take_in()
    states = "SELECT state, count(*) FROM readings_history GROUP BY ALL ORDER BY ALL"
    assert firm.ask(states) == [("current", 4), ("no door", 1), ("repeat", 1)]
    assert firm.ask("SELECT \"row\" FROM readings_history WHERE state = 'no door'") == [(4,)]
    firm.write("readings more.csv", "install_id,measure,position_mm,value,unit\nD1,frame_width,0,9001,mm\n")
    firm.take_in()
    assert firm.ask(states) == [("current", 4), ("superseded", 3)]
    firm.write("readings 3.csv", "install_id,measure,position_mm,value,unit\nD1,frame_width,0,9002,mm\n")
    firm.take_in()
    assert firm.ask("SELECT value FROM readings WHERE measure = 'frame_width' ORDER BY 1") == [(3000.0,), (9002.0,)]


def test_a_stopped_run_leaves_no_table_of_a_large_file(firm, monkeypatch):
    monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", {".csv": 0, ".parquet": 0})
    monkeypatch.setattr("pipeline.ingest.take.write_files", _stop)
    with pytest.raises(KeyboardInterrupt):
        firm.take_in()
    large = "SELECT table_name FROM duckdb_tables() WHERE table_name LIKE 'readings_load%'"
    assert firm.ask(large) == [("readings_load_1",)]
    assert firm.ask("SELECT count(*) FROM loads") == [(0,)]
    monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", {".csv": 1 << 40, ".parquet": 1 << 40})
    monkeypatch.undo()
    firm.take_in()
    assert firm.ask(large) == []
    assert firm.account("readings") == (3, 3, 0, 0)


def test_row_numbers_of_a_file_of_many_blocks_are_those_of_its_lines(firm, monkeypatch):
    monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", {".csv": 0, ".parquet": 0})
    rows = [f"D1,fixing,{number},{number % 15000},mm" for number in range(2, 600_002)]
    rows[499_998] = "D1,fixing,short"
    rows[250_000] = "D1,fixing,odd,fifteen,mm"
    firm.write("readings.csv", "install_id,measure,station,value,unit\n" + "\n".join(rows) + "\n")
    firm.take_in()
    assert firm.ask('SELECT count(*) FROM readings_history WHERE "row" <> station::INT') == [(0,)]
    assert firm.account("readings") == (600_000, 599_998, 2, 0)
    assert [row for _, row, *_ in firm.set_aside()] == [250_002, 500_000]


def _stop(*_):
    raise KeyboardInterrupt


@pytest.mark.parametrize("ending", ["csv", "parquet", "jsonl"])
@pytest.mark.parametrize("name", ["readings [1]", "readings ?"])
def test_a_name_that_could_stand_for_another_file_is_read_as_itself(firm, monkeypatch, ending, name):
    monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", dict.fromkeys((".csv", ".parquet", ".jsonl"), 0))
    (firm.folder / "readings.csv").unlink()
    for file, position in ((f"{name}.{ending}", "1"), (f"readings 1.{ending}", "2")):
        row = {"install_id": "D1", "measure": "sill_height", "position_mm": position, "value": "12.5", "unit": "mm"}
        frame, path = pl.DataFrame([row]), firm.folder / file
        {"csv": frame.write_csv, "parquet": frame.write_parquet, "jsonl": frame.write_ndjson}[ending](path.open("wb"))
    firm.take_in()
    found = firm.ask("SELECT file, position_mm FROM readings_history ORDER BY position_mm")
    assert found == [(f"{name}.{ending}", 1.0), (f"readings 1.{ending}", 2.0)]
