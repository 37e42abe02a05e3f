"""Callbacks that name no door, taken in from files: which door they get, and what is left behind."""

import duckdb

INSTALLS = """
install_id,job_no,crew,fitted_on,handed_over_on,leaves,customer,address,postcode
D1,J-1041,Alder,2025-01-10,2025-01-12,3,Anna Example,12 Elm Road,ZZ1 1EX
D2,J-1042,Birch,2025-02-10,2025-02-12,4,Ben Sample,7 Fern Lane,ZZ2 2EX
D3,J-1043,Birch,2025-03-10,2025-03-12,3,Carol Invent,9 Oak Close,ZZ3 3EX
D4,J-1043,Birch,2025-03-10,2025-03-12,5,Carol Invent,9 Oak Close,ZZ3 3EX
"""
CALLBACKS = """
callback_id,install_id,job_no,customer,address,postcode,reported_on,note
C1,D1,,,,,2025-06-01,
C2,,j1042,,,,2025-06-02,
C3,,,"Sample, B","7 fern ln",,2025-06-03,handle loose
C4,,1043,C Invent,9 Oak Cl,ZZ33EX,2025-06-04,handle loose
C5,,,Mrs Invent,9 Oak Close,ZZ3 3EX,2025-06-05,the five leaf door drops
C6,,1041,Ben Sample,7 Fern Lane,ZZ2 2EX,2025-06-06,two figures of the job are wrong
C7,,,Zed Stranger,1 Nowhere Row,QQ9 9QQ,2025-06-07,
C8,,Q-77,,,,2025-06-08,
C9,,,Example Anna,12 Elm Road,,2025-06-09,
"""
ALIASES = """
[job_alias]
"Q-77" = "1041"
"""


def write_firm(firm):
    firm.write("installs.csv", INSTALLS)
    firm.write("callbacks.csv", CALLBACKS)
    firm.write("fitback.toml", ALIASES)


def matches(firm):
    rows = firm.ask("SELECT callback_id, install_id, site FROM callback_matches ORDER BY callback_id")
    return {callback: (door, site) for callback, door, site in rows}


def test_name_and_place_find_the_door_and_an_undecided_house_holds_the_callback(empty_firm):
    write_firm(empty_firm)
    empty_firm.take_in()
    assert matches(empty_firm) == {
        "C3": ("D2", "D2"),
        "C4": (None, "D3"),
        "C5": ("D4", "D3"),
        "C6": ("D2", "D2"),
        "C7": (None, None),
        "C9": ("D1", "D1"),
    }


def test_job_numbers_have_one_key_however_written_and_by_alias(empty_firm):
    write_firm(empty_firm)
    empty_firm.take_in()
    keys = dict(empty_firm.ask("SELECT job_no, job_key FROM job_numbers"))
    assert keys["j1042"] == keys["J-1042"]
    assert keys["Q-77"] == keys["1041"] == keys["J-1041"]


def test_nothing_personal_is_left_outside_people(empty_firm):
    write_firm(empty_firm)
    empty_firm.take_in()
    with duckdb.connect(str(empty_firm.out / "records.duckdb"), read_only=True) as connection:
        tables = [name for (name,) in connection.execute("SELECT table_name FROM duckdb_tables()").fetchall()]
        text = " ".join(str(connection.execute(f'FROM "{name}"').fetchall()) for name in tables)
    assert "callback_matches_made" in tables
    assert not [word for word in ("Sample", "SAMPLE", "Fern", "FERN", "ZZ2", "ZZ22EX") if word in text]


def test_unchanged_records_are_not_linked_again_and_changed_ones_are(empty_firm, monkeypatch):
    from pipeline.ingest.linking import link

    write_firm(empty_firm)
    empty_firm.take_in()
    linked = []
    real = link._linked
    monkeypatch.setattr(link, "_linked", lambda *args: linked.append(1) or real(*args))
    empty_firm.take_in()
    assert not linked
    empty_firm.write(
        "callbacks.csv", CALLBACKS.replace("Zed Stranger,1 Nowhere Row,QQ9 9QQ", "A Example,12 Elm Rd,ZZ1 1EX")
    )
    empty_firm.take_in()
    assert linked
    assert matches(empty_firm)["C7"] == ("D1", "D1")


def test_splink_is_not_loaded_where_every_callback_names_its_door(empty_firm):
    import subprocess
    import sys

    empty_firm.write("installs.csv", INSTALLS)
    empty_firm.write("callbacks.csv", "callback_id,install_id,reported_on\nC1,D1,2025-06-01\n")
    code = (
        "import sys; from pathlib import Path; from pipeline.ingest.take import take_in\n"
        "from pipeline.settings import load_settings\n"
        f"folder = Path({str(empty_firm.folder)!r})\n"
        f"take_in(folder, Path({str(empty_firm.out)!r}), *load_settings(folder), print)\n"
        "assert 'splink' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_linking_writes_nothing_to_the_terminal(empty_firm, capfd):
    write_firm(empty_firm)
    empty_firm.take_in()
    assert capfd.readouterr() == ("", "")


def test_a_door_numbered_by_its_job_lends_the_job_its_key(empty_firm):
    """Before, C4101 had no key of a door, though C4101/1 was the only one of that job."""
    doors = ["C4101/1", "C4102/1", "C4102/2", "C4103-A", "K7", "FD-21"]
    rows = "\n".join(f"{door},Alder,2025-01-10,Anna Example" for door in doors)
    empty_firm.write("installs.csv", f"install_id,crew,fitted_on,customer\n{rows}\n")
    rows = "\n".join(f"B{n},{job},2025-06-0{n}" for n, job in enumerate(["c 4101", "C4103/A", "C4102"], 1))
    empty_firm.write("callbacks.csv", f"callback_id,job_no,reported_on\n{rows}\n")
    empty_firm.take_in()
    keys = dict(empty_firm.ask("SELECT job_no, job_key FROM job_numbers"))
    assert keys["c 4101"] == keys["C4101"]
    assert keys["C4103/A"] == keys["C4103"]
    assert not {"K", "FD"} & keys.keys()
    assert set(matches(empty_firm)) == {"B3"}
