"""A door written otherwise than in installs is that door, where only one can be meant."""

import duckdb
import pytest

from pipeline.ingest.history.spellings import written_key

REGISTER = """
install_id,crew,fitted_on,handed_over_on,width_mm,height_mm
D-0012,Alder,2025-01-10,2025-01-12,4000,2100
007,Birch,2025-02-10,,3000,2000
"""


def readings(*doors: str) -> str:
    rows = (f"{door},sill_height,sill,{100 * place},1.5,mm" for place, door in enumerate(doors))
    return "\n".join(["install_id,measure,member,position_mm,value,unit", *rows, ""])


def named(firm) -> list[str]:
    return [door for (door,) in firm.ask("SELECT install_id FROM readings ORDER BY position_mm")]


def test_zeros_case_blanks_and_hyphens_do_not_make_another_door(firm):
    firm.write("installs.csv", REGISTER)
    firm.write("readings.csv", readings("D-0012", "d-12", "D 0012", "d12", "7", "07"))
    firm.write("checks.csv", "install_id,check,outcome\n7,sill_bedded,pass\n")
    firm.write("callbacks.csv", "callback_id,install_id,reported_on,fault\nC1,d12,2025-06-01,draught\n")
    intake = firm.take_in()
    assert named(firm) == ["D-0012"] * 4 + ["007"] * 2
    assert firm.ask("SELECT install_id FROM checks") == [("007",)]
    assert firm.ask("SELECT install_id FROM callbacks") == [("D-0012",)]
    assert firm.account("readings") == (6, 6, 0, 0)
    assert firm.set_aside() == []
    assert intake.notes == [
        "Doors written in more than one way are taken as one: 07 as 007, 7 as 007, D 0012 as D-0012 and 2 more."
    ]


def test_the_same_reading_under_two_spellings_is_one(firm):
    firm.write("installs.csv", REGISTER)
    row = "sill_height,sill,0,1.5,mm"
    firm.write("readings.csv", f"install_id,measure,member,position_mm,value,unit\nD-0012,{row}\nd12,{row}\n")
    firm.take_in()
    assert firm.account("readings") == (2, 1, 0, 1)


def test_where_two_doors_can_be_meant_nothing_is_guessed(firm):
    firm.write("installs.csv", REGISTER + "7,Birch,2025-02-10,,3000,2000\n")
    firm.write("readings.csv", readings("007", "7", "07"))
    firm.take_in()
    assert named(firm) == ["007", "7"]
    assert firm.set_aside() == [("readings.csv", 4, "install_id", "07", "row")]


def test_rows_of_a_door_that_is_set_aside_wait_for_it_and_are_no_other_doors(firm):
    firm.write("installs.csv", REGISTER + "D12,Birch,31/13/2025,,3000,2000\n")
    firm.write("readings.csv", readings("D-0012", "D12", "d 12"))
    firm.take_in()
    assert named(firm) == ["D-0012"]
    assert firm.account("readings") == (3, 1, 2, 0)
    waits = "door D12 is set aside (installs.csv, row 4); this comes in by itself once that is mended"
    assert waits in firm.reasons()
    firm.write("installs.csv", REGISTER + "D12,Birch,2025-02-10,,3000,2000\n")
    firm.take_in()
    assert named(firm) == ["D-0012", "D12"]  # which of the two is meant by `d 12` is not guessed


def test_numbers_of_several_parts_stay_apart(firm):
    firm.write("installs.csv", REGISTER + "3-12,Birch,2025-02-10,,3000,2000\n")
    firm.write("readings.csv", readings("31-2", "312", "3/12"))
    firm.take_in()
    assert named(firm) == ["3-12"]


def test_a_spelling_ends_with_the_door_that_it_meant(firm):
    firm.write("installs.csv", REGISTER)
    firm.write("readings.csv", readings("7"))
    firm.take_in()
    assert named(firm) == ["007"]
    firm.write("installs.csv", REGISTER + "7,Birch,2025-02-10,,3000,2000\n")
    firm.take_in()
    assert named(firm) == ["7"]
    assert firm.ask("FROM spellings") == []


def test_the_trail_of_a_door_holds_the_rows_that_write_it_otherwise(firm):
    firm.write("installs.csv", REGISTER)
    firm.write("readings.csv", readings("d12", "D-0012"))
    firm.take_in()
    found = firm.ask('SELECT install_id, "row", state FROM readings_history ORDER BY ALL')
    assert found == [("D-0012", 2, "current"), ("D-0012", 3, "current")]


def test_rows_of_a_large_file_are_found_too(firm):
    cells = "'12' AS install_id, 'sill_height' AS measure, (i / 100)::DOUBLE AS position_mm, 1.5 AS value, 'mm' AS unit"
    many = f"SELECT {cells} FROM range(300_000) AS t(i)"
    with duckdb.connect() as connection:
        path = firm.folder / "readings.parquet"
        connection.execute(f"COPY ({many}) TO '{path}' (FORMAT parquet)")
    firm.write("installs.csv", REGISTER.replace("D-0012", "0012"))
    (firm.folder / "readings.csv").unlink()
    firm.take_in()
    assert firm.ask("SELECT install_id, count(*) FROM readings GROUP BY ALL") == [("0012", 300_000)]


def test_a_crew_is_one_however_it_is_written(firm):
    rows = "D1,Team 1,2025-01-10\nD2,Team 1,2025-01-11\nD3,team-01,2025-01-12\nD4,Dara & Fenn,2025-01-12\n"
    firm.write("installs.csv", f"install_id,crew,fitted_on\n{rows}D5,Dara/Fenn,2025-01-12\nD6,Dara & Fenn,2025-01-13\n")
    firm.write("training.csv", "crew,step,trained_on\nTEAM 1,sill,2025-02-01\n")
    (firm.folder / "readings.csv").unlink()
    intake = firm.take_in()
    assert firm.ask("SELECT crew, count(*) FROM installs GROUP BY ALL ORDER BY ALL") == [
        ("Dara & Fenn", 3), ("Team 1", 3),
    ]  # fmt: skip
    assert firm.ask("SELECT crew FROM training") == [("Team 1",)]
    assert intake.notes == [
        "Crews written in more than one way are taken as one: Dara/Fenn as Dara & Fenn, TEAM 1 as Team 1, "
        "team-01 as Team 1."
    ]


def test_a_crew_is_named_as_the_record_of_crews_names_it(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,team 1,2025-01-10\nD2,team 1,2025-01-11\n")
    firm.write("crews.csv", "crew\nTeam 01\n")
    (firm.folder / "readings.csv").unlink()
    firm.take_in()
    assert firm.ask("SELECT DISTINCT crew FROM installs") == [("Team 01",)]


def test_a_product_is_one_however_it_is_written(firm):
    words = ["Fold 60,aluminium", "Fold 60,Aluminium", "FOLD-60,aluminium", "fold60,timber", "Fold 6,timber", ",timber"]
    rows = "".join(f"D{place},Alder,2025-01-10,{word}\n" for place, word in enumerate(words))
    firm.write("installs.csv", f"install_id,crew,fitted_on,product,material\n{rows}")
    (firm.folder / "readings.csv").unlink()
    intake = firm.take_in()
    counted = "SELECT {0}, count(*) FROM installs GROUP BY ALL ORDER BY ALL"
    assert firm.ask(counted.format("product")) == [("Fold 6", 1), ("Fold 60", 4), (None, 1)]
    assert firm.ask(counted.format("material")) == [("aluminium", 3), ("timber", 3)]
    assert intake.notes == [
        "Words of product written in more than one way are taken as one: FOLD-60 as Fold 60, fold60 as Fold 60.",
        "Words of material written in more than one way are taken as one: Aluminium as aluminium.",
    ]
    assert firm.ask("SELECT product FROM installs_history WHERE install_id = 'D3'") == [("fold60",)]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("D-0012", "d12"),
        ("12 A", "012a"),
        ("\uff11\uff12", "12"),
        ("J/2025/004", "j 2025-4"),
        ("#12", "12"),
        ("12.0", "12"),
    ],
)
def test_what_does_not_count(one, other):
    assert written_key(one) == written_key(other)


@pytest.mark.parametrize(
    ("one", "other"), [("1-12", "11-2"), ("D1", "E1"), ("12", "120"), ("12A", "12B"), ("1-2", "12"), ("0", "00-1")]
)
def test_what_counts(one, other):
    assert written_key(one) != written_key(other)


def test_a_job_alone_is_its_only_door(firm):
    doors = "".join(f"{door},Birch,2025-02-10,,3000,2000\n" for door in ("K3120/1", "K3121/1", "K3121/2"))
    firm.write("installs.csv", REGISTER + doors)
    firm.write("readings.csv", readings("K3120/1", "K3120", "K3121"))
    intake = firm.take_in()
    assert named(firm) == ["K3120/1"] * 2
    assert firm.set_aside() == [("readings.csv", 4, "install_id", "K3121", "row")]
    assert intake.notes == ["Doors written in more than one way are taken as one: K3120 as K3120/1."]
