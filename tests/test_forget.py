"""`fitback forget CUSTOMER`: the person is in no file any more and stays away, and every figure is as it was.

No outside reference: what must hold is that the same tables come out before and after, and that no bytes of the
person are left.
"""

import io
import json
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path

import duckdb
import openpyxl
import polars as pl
import pytest
from typer.testing import CliRunner, Result

from pipeline import rewriting
from pipeline.cli import app
from pipeline.progress import Silence
from pipeline.publish import PREVIOUS, RESULTS
from pipeline.rewriting import complete_rewriting
from pipeline.run import run_firm
from tests.ingest.mending.books import corrected

ANNA = ("Anna Example", "12 Elm Road", "ZZ1 1EX", "handle came loose after the storm")
IDA = ("Ida Sample", "5 Beech Lane", "ZZ5 5EX")
INSTALLS = """
install_id,job_no,crew,fitted_on,handed_over_on,width_mm,customer,address,postcode
D1,101,Alder,2024-01-10,2024-01-12,4000,Anna Example,12 Elm Road,ZZ1 1EX
D2,102,Birch,2024-02-10,2024-02-12,3000,A. Example,12 Elm Road,ZZ1 1EX
D3,103,Birch,2024-02-10,2024-02-12,3000,Anna Example,9 Oak Close,ZZ3 3EX
D4,104,Alder,2024-03-10,2024-03-12,3000,Carol Invent,9 Ash Close,ZZ4 4EX
D5,105,Alder,2024-03-10,2024-03-12,3500,Ida Sample,5 Beech Lane,ZZ5 5EX
D6,106,Birch,2024-04-10,2024-04-12,3500,Otto Made,7 Fir Street,ZZ6 6EX
D7,107,Ida Sample,2024-04-10,2024-04-12,3500,,,
D8,108,Birch,2024-05-10,2024-05-12,3500,Hanna Exemplar,21 Elm Road,ZZ8 8EX
"""
CALLBACKS = """
callback_id,install_id,job_no,customer,address,postcode,reported_on,fault,note,responsibility
C1,,,Anna Example,12 Elm Road,ZZ1 1EX,2024-06-01,,handle came loose after the storm,
C2,D2,,Mrs A Example,12 Elm Rd,ZZ1 1EX,2024-06-02,dropped_leaf,leaf drops on the lock side,installation
C3,D1,,Ben Other,,,2024-07-03,,water on the sill after rain,
C4,D4,,Carol Invent,9 Ash Close,ZZ4 4EX,2024-06-04,,the same draught as at Anna Example's house,
C5,,104,Otto Made,7 Fir Street,ZZ6 6EX,2024-06-05,,lock will not turn,
C6,,,Ida Sample,5 Beech Lane,ZZ5 5EX,2024-06-06,,runs stiff,
C7,,101,Otto Made,7 Fir Street,ZZ6 6EX,2024-06-07,,draught,
C8,,,O Made,7 Fir Steet,ZZ6 6EX,2024-06-08,,water on the sill after rain,
C9,,,Anna Example,,,2024-06-09,,leaf scrapes,
"""
CREWS = "crew\nAlder\nBirch\n"
READINGS = "install_id,measure,member,position_mm,value,unit\n" + "".join(
    f"D{door},sill_height,sill,{place},{12 + door * place / 1000},mm\n"
    for door in range(1, 9)
    for place in (0, 1500, 2900)
)
# Tell of the run, not of the doors.
OF_THE_RUN = ("runs", "build_log", "intake_account")


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory, drawings_kept: None) -> Path:
    """A folder of records with its output beside it, run twice so that earlier results lie there."""
    folder = tmp_path_factory.mktemp("forget") / "doors"
    folder.mkdir()
    for name, text in [("installs", INSTALLS), ("callbacks", CALLBACKS), ("crews", CREWS), ("readings", READINGS)]:
        (folder / f"{name}.csv").write_text(text.lstrip("\n"), encoding="utf-8")
    for _ in range(2):
        run_firm(folder, None, Silence())
    return folder


@pytest.fixture
def folder(first: Path, tmp_path: Path) -> Path:
    shutil.copytree(first, tmp_path / "doors")
    shutil.copytree(output(first), output(tmp_path / "doors"))
    return tmp_path / "doors"


def output(folder: Path) -> Path:
    return folder.with_name(f"{folder.name}-fitback")


def forget(folder: Path, *arguments: str) -> Result:
    return CliRunner().invoke(app, ["forget", *arguments, "--out", str(output(folder))])


def tables(out: Path) -> dict[str, list[str]]:
    """The rows of every result table as text."""
    with duckdb.connect(out / RESULTS, read_only=True) as results:
        names = [name for (name,) in results.execute("SELECT table_name FROM duckdb_tables()").fetchall()]
        asked = [name for name in names if name not in OF_THE_RUN]
        return {name: sorted(map(repr, results.execute(f'FROM "{name}"').fetchall())) for name in asked}


def people(out: Path, sql: str) -> list[tuple]:
    with duckdb.connect(out / "people.duckdb", read_only=True) as connection:
        return connection.execute(sql).fetchall()


def files(out: Path) -> dict[str, bytes]:
    return {str(path.relative_to(out)): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()}


def state(out: Path) -> dict[str, object]:
    """What an output folder says: rows of databases (opening one may change its bytes), bytes of all else."""
    said: dict[str, object] = {name: content for name, content in files(out).items() if not name.startswith(".")}
    for name in said:
        if name.endswith(".duckdb"):
            said[name] = sorted(text for file, text in contents(out, name) if file != name)
    return said


def contents(out: Path, only: str = "") -> Iterator[tuple[str, str]]:
    """(file, text) of all that a file says: its bytes, and what they unpack to. only: one file."""
    for name, content in files(out).items():
        if only not in ("", name):
            continue
        yield name, content.decode("latin-1")
        if name.endswith(".duckdb"):
            with duckdb.connect(out / name, read_only=True) as connection:
                for (table,) in connection.execute("SELECT table_name FROM duckdb_tables()").fetchall():
                    yield f"{name} {table}", repr(connection.execute(f'FROM "{table}"').fetchall())
        if name.endswith(".parquet"):
            yield name, repr(pl.read_parquet(io.BytesIO(content)).rows())
        if name.endswith(".xlsx"):
            with zipfile.ZipFile(io.BytesIO(content)) as book:
                yield from ((name, book.read(part).decode("utf-8")) for part in book.namelist())


def holding(out: Path, *texts: str) -> set[str]:
    """Files that hold one of the texts; a table of a database with its name."""
    return {name for name, content in contents(out) if any(text in content for text in texts)}


def test_a_name_that_several_have_is_refused_with_what_tells_them_apart(folder):
    before = state(output(folder))
    result = forget(folder, "anna example")
    assert result.exit_code == 2
    assert result.stderr == (
        "3 customers are called 'anna example': 12 Elm Road, ZZ1 1EX: 2 doors (D1, D2), 3 callbacks; "
        "9 Oak Close, ZZ3 3EX: 1 door (D3), 0 callbacks; no address: 0 doors, 1 callback; "
        "say which with --address or --door, or --all for all of them.\n"
    )
    assert state(output(folder)) == before


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["Anna Exampel"], "No customer is called 'Anna Exampel'; did you mean Anna Example"),
        (["Anna Example", "--address", "Pine"], "No 'Anna Example' is at that address or door; there is: 12 Elm Road"),
        (["Anna Example", "--door", "D4"], "No 'Anna Example' is at that address or door; there is: 12 Elm Road"),
        (["  "], "No customer is called '  '"),
    ],
)
def test_a_name_that_nobody_has_is_refused_in_one_sentence(folder, arguments, words):
    result = forget(folder, *arguments)
    assert (result.exit_code, result.stderr.count("\n")) == (2, 1)
    assert result.stderr.startswith(words)


def test_the_person_is_in_no_file_any_more_and_every_table_is_as_it_was(folder):
    out = output(folder)
    assert {"people.duckdb", "people.duckdb install_rows"} <= holding(out, *ANNA)
    before = tables(out)
    drawn = [CliRunner().invoke(app, ["door", door, "--with-people", "--out", str(out)]) for door in ("D1", "D8")]
    result = forget(folder, "Anna Example", "--address", "elm road")
    assert {one.exit_code for one in (*drawn, result)} == {0}, result.stderr
    assert "Sheets taken away, as they may tell of it: doors_with_people/D1; a copy" in result.stdout
    assert not holding(out, "12 Elm R", *ANNA[2:], "Mrs A Example", "A. Example", "Ben Other", "same draught as")
    assert people(out, "SELECT customer FROM install_people WHERE install_id = 'D3'") == [("Anna Example",)]
    assert tables(out) == before
    run_firm(folder, None, Silence())
    assert tables(out) == before


def test_it_tells_what_was_erased_and_which_rows_of_the_firms_files_still_hold_it(folder):
    result = forget(folder, "Anna Example", "--door", "D1")
    assert result.stdout.splitlines() == [
        "Erased customer, address, postcode and notes of 2 doors (D1, D2) and 3 callbacks (C1, C2, C3); readings, "
        "links and faults stay.",
        "1 callback of these doors stood under another name; erased too.",
        "The note of C4 named the customer as well; erased.",
        "Your own files still hold it, and fitback does not change them; take it out there:",
        "  callbacks.csv, rows 2, 3, 4, 5",
        "  installs.csv, rows 2, 3",
        "Taken in again, these rows stay erased. A callback to come is linked by door or job number only.",
        "Written anew without it: links_to_review.xlsx; a copy kept elsewhere still holds it.",
    ]
    told = json.loads(forget(folder, "Ida Sample", "--json").stdout)
    assert told["doors"] == ["D5"]
    assert {"file": "installs.csv", "sheet": None, "rows": [6]} in told["still_in"]


def test_files_delivered_anew_bring_nobody_back_and_change_no_figure(folder):
    out = output(folder)
    before = tables(out)
    forget(folder, "Anna Example", "--all")
    for name in ("installs.csv", "callbacks.csv"):
        with (folder / name).open("a") as file:
            file.write("\n")
    run_firm(folder, None, Silence())
    assert tables(out) == before
    assert holding(out, "Anna Example", "A. Example", ANNA[3]) == set()
    assert people(out, "SELECT callback_id FROM callback_people WHERE customer LIKE '%Example%'") == []


def test_a_register_with_new_numbers_does_not_bring_the_person_back(folder):
    out = output(folder)
    forget(folder, "Ida Sample")
    (folder / "installs 2.csv").write_text(
        "install_id,crew,fitted_on,customer,address,postcode\nX1,Alder,2024-03-10,IDA SAMPLE,5 Beech Lane,ZZ5 5EX\n"
    )
    run_firm(folder, None, Silence())
    assert people(out, "SELECT customer, address FROM install_people WHERE install_id = 'X1'") == [(None, None)]
    assert holding(out, *IDA) == set()


def test_a_name_in_the_wrong_column_goes_from_records_results_tables_and_pages(folder):
    out = output(folder)
    assert {"records.duckdb rejections", "results.duckdb set_aside", f"{PREVIOUS} set_aside", "tables/set_aside.csv",
            "tables/set_aside.parquet"} <= holding(out, IDA[0])  # fmt: skip
    before = tables(out)
    assert forget(folder, "Ida Sample").exit_code == 0
    assert holding(out, *IDA) == set()
    after = tables(out)
    assert {name for name in before if before[name] != after[name]} == {"set_aside"}
    assert len(after["set_aside"]) == len(before["set_aside"])
    with (folder / "installs.csv").open("a") as file:
        file.write("\n")
    run_firm(folder, None, Silence())
    assert holding(out, "Ida Sample") == set()


def test_links_found_by_name_stay_when_all_links_are_made_anew(folder):
    linked = (
        "SELECT callback_id, install_id, how, probability FROM linked_callbacks WHERE callback_id <> 'N1' ORDER BY 1"
    )
    out = output(folder)
    with duckdb.connect(out / RESULTS, read_only=True) as results:
        before = {row[0]: row for row in results.execute(linked).fetchall()}
    assert before["C1"][1:3] == ("D1", "matched") or before["C1"][2] == "none"
    assert before["C6"][1:3] == ("D5", "matched")
    forget(folder, "Ida Sample")
    forget(folder, "Anna Example", "--all")
    with (folder / "callbacks.csv").open("a") as file:
        file.write("N1,,,Carol Invent,9 Ash Close,ZZ4 4EX,2024-08-05,,runs stiff,\n")
    run_firm(folder, None, Silence())
    with duckdb.connect(out / RESULTS, read_only=True) as results:
        after = {row[0]: row for row in results.execute(linked).fetchall()}
    for callback in ("C1", "C2", "C3", "C6", "C7", "C9"):
        assert after[callback] == before[callback]


def test_a_decision_on_the_review_sheet_is_taken_before_the_sheet_is_written_anew(folder):
    out = output(folder)
    path = out / "links_to_review.xlsx"
    book = openpyxl.load_workbook(path)
    sheet = book["links"]
    callback = next(row for row in range(2, sheet.max_row + 1) if sheet.cell(row, 1).value == "C9")
    sheet.cell(callback, 2).value = "D3"
    book.save(path)
    forget(folder, "Anna Example", "--all")
    run_firm(folder, None, Silence())
    with duckdb.connect(out / RESULTS, read_only=True) as results:
        found = results.execute(
            "SELECT install_id, is_reviewed FROM linked_callbacks WHERE callback_id = 'C9'"
        ).fetchall()
    assert found == [("D3", True)]


class _Killed(BaseException):
    pass


@pytest.mark.parametrize("step", range(5))
def test_stopped_at_any_moment_it_leaves_before_or_after(folder, monkeypatch, step):
    out = output(folder)
    before = state(out)
    steps = [
        ("pipeline.forget.forget.write_review_sheet", 0), ("pipeline.rewriting._write_journal", 0),
        ("pipeline.rewriting._place", 0), ("pipeline.rewriting._place", 1), ("pipeline.rewriting._place", 2),
    ]  # fmt: skip
    name, calls = steps[step]
    real, rmtree, counted = rewriting._place, shutil.rmtree, []

    def stop(*arguments):
        if len(counted) == calls:
            raise _Killed
        counted.append(1)
        return real(*arguments)

    with monkeypatch.context() as patched:
        patched.setattr(name, stop)
        # as when the process is killed, nothing is tidied up
        patched.setattr("shutil.rmtree", lambda path, **_: path.name == ".rewritten" or rmtree(path))
        with pytest.raises(_Killed):
            CliRunner().invoke(app, ["forget", "Ida Sample", "--out", str(out)], catch_exceptions=False)
    if not (out / ".rewritten.json").is_file():
        assert state(out) == before
        return
    complete_rewriting(out)
    assert holding(out, *IDA) == set()
    assert not (out / ".rewritten").exists()


def test_a_run_completes_what_was_stopped_and_clears_what_was_not_whole(folder, monkeypatch):
    out = output(folder)
    with monkeypatch.context() as patched:
        patched.setattr("pipeline.rewriting._place", lambda *_: (_ for _ in ()).throw(_Killed()))
        with pytest.raises(_Killed):
            CliRunner().invoke(app, ["forget", "Ida Sample", "--out", str(out)], catch_exceptions=False)
    run_firm(folder, None, Silence())
    assert holding(out, *IDA) == set()
    (out / ".rewritten").mkdir()
    (out / ".rewritten/people.duckdb").write_bytes(b"half a file")
    run_firm(folder, None, Silence())
    assert not (out / ".rewritten").exists()
    assert people(out, "SELECT count(*) FROM install_people")[0][0] > 0


def test_earlier_workbooks_and_the_log_lose_the_person_too(folder):
    out = output(folder)
    book = openpyxl.Workbook()
    book.active.append(["who", "Ida Sample", "what Ida Sample said", 3])
    book.save(out / "earlier.xlsx")
    (out / "fitback.log").write_text("Ida Sample\n", encoding="utf-8")
    (out / ".set_aside.xlsx").write_bytes(b"Ida Sample")  # half written by a run that was stopped
    result = forget(folder, "Ida Sample")
    assert "earlier.xlsx" in result.stdout
    cells = [cell.value for cell in openpyxl.load_workbook(out / "earlier.xlsx").active[1]]
    assert cells == ["who", "(erased)", "what (erased) said", 3]
    assert holding(out, *IDA) == set()


def test_a_correction_in_the_row_of_a_misplaced_name_still_counts(folder):
    out = output(folder)
    with corrected(out / "set_aside.xlsx", "installs") as sheet:
        (line,) = [number for number, one in enumerate(sheet.lines) if one["install_id"] == "D7"]
        sheet.put(line, crew="Birch")
    run_firm(folder, None, Silence())
    before = tables(out)
    assert "records.duckdb corrections" in holding(out, IDA[0])
    forget(folder, "Ida Sample")
    assert holding(out, *IDA) == set()
    with (folder / "installs.csv").open("a") as file:
        file.write("\n")
    run_firm(folder, None, Silence())
    assert holding(out, *IDA) == set()
    after = tables(out)
    assert {name for name in before if before[name] != after[name]} == {"corrections"}
    assert people(out, "SELECT count(*) FROM install_rows WHERE install_id = 'D7'") == [(1,)]


def test_a_person_forgotten_before_is_not_marked_anew(folder):
    out = output(folder)
    forget(folder, "Ida Sample")
    marks = people(out, "SELECT * EXCLUDE (load) FROM install_rows WHERE install_id = 'D5'")
    forget(folder, "Anna Example", "--all")
    with (folder / "installs.csv").open("a") as file:
        file.write("\n")
    run_firm(folder, None, Silence())
    assert people(out, "SELECT * EXCLUDE (load) FROM install_rows WHERE install_id = 'D5'") == marks


def test_a_crew_that_bears_the_name_of_a_customer_keeps_it(folder):
    (folder / "installs more.csv").write_text(
        "install_id,crew,fitted_on,customer,address\n"
        "X1,Alder,2024-03-10,Pat Crewe,1 Yew Road\nX2,Pat Crewe,2024-03-10,,\n"
    )
    (folder / "crews.csv").write_text(CREWS + "Pat Crewe\n")
    run_firm(folder, None, Silence())
    out = output(folder)
    before = tables(out)
    forget(folder, "pat crewe")
    assert people(out, "SELECT customer FROM install_people WHERE install_id = 'X1'") == [(None,)]
    run_firm(folder, None, Silence())
    assert tables(out) == before


def test_a_workbook_that_is_open_elsewhere_is_named(folder):
    (output(folder) / "~$links_to_review.xlsx").write_bytes(b"")
    result = forget(folder, "Ida Sample")
    assert (result.exit_code, result.stderr) == (
        2,
        "links_to_review.xlsx is open in another program; close it there and try again.\n",
    )


def test_a_workbook_that_cannot_be_read_is_named_and_nothing_is_erased(folder):
    (output(folder) / "earlier.xlsx").write_bytes(b"half a file")
    before, result = state(output(folder)), forget(folder, "Ida Sample")
    assert result.exit_code == 2
    assert result.stderr.startswith("earlier.xlsx cannot be read, so it may still hold the customer; take it out of ")
    assert state(output(folder)) == before
