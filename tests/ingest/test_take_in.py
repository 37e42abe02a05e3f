"""What a folder comes to: records, account, history, people; and that a second run changes nothing."""

from datetime import date

import duckdb
import pytest

from pipeline.ingest.records import RECORDS


def test_a_clean_folder_is_taken_in_whole(firm):
    intake = firm.take_in()
    assert firm.account("installs") == (2, 2, 0, 0)
    assert firm.account("readings") == (3, 3, 0, 0)
    assert firm.set_aside() == []
    assert intake.notes == []
    assert intake.accounts["readings"].taken_in == 3


def test_every_record_has_a_view_even_without_a_file(firm):
    firm.take_in()
    for record in RECORDS:
        names = [name for name, *_ in firm.ask(f"DESCRIBE {record.name}")]
        written = ["written_value", "written_unit"] if record.name == "readings" else []
        assert names == [column.name for column in record.kept] + written
    assert firm.ask("FROM crews") == firm.ask("FROM training") == []


def test_an_exact_repeat_is_counted_once(firm):
    firm.write("readings again.csv", "install_id,measure,member,position_mm,value,unit\nD1,sill_height,sill,0,1.2,cm\n")
    firm.take_in()
    assert firm.account("readings") == (4, 3, 0, 1)
    assert firm.ask("SELECT state FROM readings_history WHERE file = 'readings again.csv'") == [("repeat",)]


def test_rows_that_contradict_in_one_delivery_are_all_set_aside(firm):
    firm.write("installs more.csv", "install_id,crew,fitted_on\nD2,Cedar,2025-02-10\nD3,Cedar,2025-03-01\n")
    firm.take_in()
    assert firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("D1",), ("D3",)]
    assert firm.account("installs") == (4, 2, 2, 0)
    assert "contradicts installs more.csv, row 2: the same install_id, other values; keep the right one" in (
        firm.reasons()
    )


def test_a_row_that_leaves_empty_what_another_says_repeats_it(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-10\nD2,Birch,2025-02-10\n")
    more = "install_id,crew,fitted_on,width_mm\nD1,Alder,2025-01-10,3600\nD2,Birch,2025-02-10,\n"
    firm.write("installs more.csv", more)
    firm.take_in()
    assert firm.set_aside() == []
    assert firm.account("installs") == (4, 2, 0, 2)
    assert firm.ask("SELECT install_id, width_mm FROM installs ORDER BY 1") == [("D1", 3600.0), ("D2", None)]


def test_a_later_row_that_only_leaves_things_empty_changes_nothing(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on,width_mm\nD1,Alder,2025-01-10,3600\nD2,Birch,2025-02-10,\n")
    firm.take_in()
    firm.write("installs forms.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-10\nD2,Birch,2025-02-11\n")
    firm.take_in()
    assert firm.ask("SELECT install_id, width_mm, fitted_on::VARCHAR FROM installs ORDER BY 1") == [
        ("D1", 3600.0, "2025-01-10"),
        ("D2", None, "2025-02-11"),
    ]


def test_fixings_without_number_or_position_are_places_of_their_own_and_still_repeat(firm):
    fixings = "install_id,measure,member,value,unit,read_on\n" + "".join(
        f"D1,fixing,left_jamb,{place},mm,2025-01-11\n" for place in (200, 750, 1300, 1900, 1300)
    )
    widths = "D1,aperture_width,,4012,mm,2025-01-11\nD1,aperture_width,,4010,mm,2025-01-11\n"
    firm.write("readings.csv", fixings + widths)
    firm.take_in()
    assert firm.set_aside() == []
    assert firm.account("readings") == (7, 6, 0, 1)


def test_two_values_of_one_named_place_contradict(firm):
    firm.write(
        "readings.csv",
        "install_id,measure,member,station,value,unit\nD1,fixing,left_jamb,1,200,mm\nD1,fixing,left_jamb,1,210,mm\n"
        "D1,temperature,,,12,C\nD1,temperature,,,14,C\n",
    )
    firm.take_in()
    assert firm.account("readings") == (4, 0, 4, 0)


def test_rows_of_a_door_set_aside_name_it_and_come_in_once_it_is_mended(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-10\nD2,Birch,10/02/2025\n")
    firm.take_in()
    assert ("readings.csv", 4, "install_id", "D2", "row") in firm.set_aside()
    assert any("door D2 is set aside (installs.csv, row 3)" in reason for reason in firm.reasons())
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-10\nD2,Birch,2025-02-10\n")
    firm.take_in()
    assert firm.set_aside() == []
    assert firm.account("readings") == (3, 3, 0, 0)
    assert firm.ask("SELECT status FROM files WHERE file = 'readings.csv'") == [("unchanged",)]


def test_an_unknown_door_sets_readings_aside_but_only_empties_the_cell_of_a_callback(firm):
    firm.write("readings.csv", "install_id,measure,value,unit\nD9,frame_width,3000,mm\n")
    firm.write("callbacks.csv", "callback_id,install_id,reported_on\nC1,D9,2025-05-01\n")
    firm.take_in()
    assert firm.set_aside() == [
        ("callbacks.csv", 2, "install_id", "D9", "cell"),
        ("readings.csv", 2, "install_id", "D9", "row"),
    ]
    assert firm.ask("SELECT callback_id, install_id FROM callbacks") == [("C1", None)]


def test_a_second_run_changes_nothing(firm):
    firm.write("callbacks.csv", "callback_id,install_id,reported_on,note\nC1,D9,2025-05-01,rang twice\n")
    firm.take_in()
    tables = [f"{record.name}_history" for record in RECORDS] + ["rejections", "loads", "marks"]
    before = {table: sorted(map(repr, firm.ask(f"FROM {table}"))) for table in tables}
    firm.take_in()
    assert {table: sorted(map(repr, firm.ask(f"FROM {table}"))) for table in tables} == before
    assert firm.ask("SELECT DISTINCT status FROM files") == [("unchanged",)]
    assert len(set(firm.ask("SELECT records_state, as_of, catalogue_hash FROM runs"))) == 1


def test_a_file_with_new_content_replaces_its_rows(firm):
    firm.take_in()
    firm.write("readings.csv", "install_id,measure,member,position_mm,value,unit\nD1,sill_height,sill,0,11.0,mm\n")
    firm.take_in()
    assert firm.ask("SELECT value FROM readings") == [(11.0,)]
    assert firm.ask("SELECT count(*), count(*) FILTER (WHERE superseded) FROM readings_history") == [(4, 3)]
    assert firm.ask('SELECT DISTINCT "version" FROM readings_history WHERE NOT superseded') == [(2,)]


def test_a_later_delivery_supersedes_the_row_of_the_same_key(firm):
    firm.take_in()
    firm.write("installs corrected.csv", "install_id,crew,fitted_on\nD2,Cedar,2025-02-11\n")
    firm.take_in()
    assert firm.ask("SELECT crew FROM installs WHERE install_id = 'D2'") == [("Cedar",)]
    assert firm.ask("SELECT state, crew FROM installs_history WHERE install_id = 'D2' ORDER BY 1") == [
        ("current", "Cedar"),
        ("superseded", "Birch"),
    ]
    assert firm.account("installs") == (3, 3, 0, 0)


def test_a_bad_correction_leaves_the_old_row_in_force(firm):
    firm.write("crews.csv", "crew\nAlder\nBirch\n")
    firm.take_in()
    firm.write("installs corrected.csv", "install_id,crew,fitted_on\nD2,Brich,2025-02-11\n")
    firm.take_in()
    assert firm.ask("SELECT crew FROM installs WHERE install_id = 'D2'") == [("Birch",)]
    assert firm.reasons() == ["no crew Brich in crews; did you mean Birch?"]


def test_a_vanished_file_keeps_its_rows_and_the_run_says_so(firm):
    firm.take_in()
    (firm.folder / "readings.csv").unlink()
    intake = firm.take_in()
    assert firm.account("readings") == (3, 3, 0, 0)
    assert intake.notes == ["readings.csv vanished: not in the folder any more; its rows are kept."]


def test_a_contradiction_ends_when_one_of_the_files_is_mended(firm):
    firm.write("installs more.csv", "install_id,crew,fitted_on\nD2,Cedar,2025-02-10\n")
    firm.take_in()
    firm.write("installs more.csv", "install_id,crew,fitted_on\nD3,Cedar,2025-02-10\n")
    firm.take_in()
    assert firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("D1",), ("D2",), ("D3",)]
    assert firm.set_aside() == []


def test_personal_cells_live_in_people_only(firm):
    firm.write(
        "installs.csv",
        "install_id,crew,fitted_on,customer,address,postcode\nD1,Alder,2025-01-10,Mx Invented,1 Nowhere Lane,ZZ1 1ZZ\n"
        "D2,Alder,2025-13-01,Mx Madeup,2 Nowhere Lane,ZZ1 1ZZ\n",
    )
    firm.write(
        "callbacks.csv", 'callback_id,reported_on,customer,note\nC1,2025-05-01,Mx Invented,"stiff,\nrang twice"\n'
    )
    firm.take_in()
    assert firm.people("FROM install_people") == [("D1", "Mx Invented", "1 Nowhere Lane", "ZZ1 1ZZ")]
    assert firm.people("SELECT callback_id, note FROM callback_people") == [("C1", "stiff,\nrang twice")]
    for table, *_ in firm.ask("SELECT table_name FROM duckdb_tables()"):
        assert "Nowhere" not in repr(firm.ask(f"FROM {table}"))
        assert "Invented" not in repr(firm.ask(f"FROM {table}"))


def test_rows_that_differ_in_personal_cells_only_contradict_too(firm):
    header = "install_id,crew,fitted_on,customer\n"
    firm.write("installs.csv", header + "D1,Alder,2025-01-10,A\nD2,Birch,2025-02-10,B\n")
    firm.write("installs more.csv", header + "D2,Birch,2025-02-10,C\n")
    firm.take_in()
    assert firm.account("installs") == (3, 1, 2, 0)
    assert firm.people("SELECT install_id FROM install_people") == [("D1",)]


def test_the_personal_cells_of_replaced_rows_are_forgotten(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on,customer\nD1,Alder,2025-01-10,Old Name\n")
    firm.take_in()
    firm.write("installs.csv", "install_id,crew,fitted_on,customer\nD1,Alder,2025-01-10,New Name\n")
    firm.take_in()
    assert firm.people("SELECT customer FROM install_rows") == [("New Name",)]


def test_dates_after_as_of_are_set_aside_or_emptied_and_come_in_when_it_moves(firm):
    firm.write("fitback.toml", "as_of = 2025-02-01\n")
    firm.write("callbacks.csv", "callback_id,reported_on,logged_on\nC1,2025-01-31,2025-02-02\n")
    firm.take_in()
    assert firm.set_aside() == [
        ("callbacks.csv", 2, "logged_on", "2025-02-02", "cell"),
        ("installs.csv", 3, "fitted_on", "2025-02-10", "row"),
        ("readings.csv", 4, "install_id", "D2", "row"),
    ]
    assert firm.ask("SELECT logged_on FROM callbacks") == [(None,)]
    firm.write("fitback.toml", "as_of = 2025-03-01\n")
    assert firm.take_in().as_of == date(2025, 3, 1)
    assert firm.set_aside() == []
    assert firm.ask("SELECT logged_on FROM callbacks") == [(date(2025, 2, 2),)]


def test_without_as_of_the_latest_callback_handover_or_fitting_is_taken(firm):
    firm.write("callbacks.csv", "callback_id,reported_on\nC1,2025-06-30\nC2,2031-01-01\n")
    assert firm.take_in().as_of == date(2025, 6, 30)
    assert firm.set_aside() == [("callbacks.csv", 3, "reported_on", "2031-01-01", "row")]


def test_a_lean_without_a_length_takes_the_doors_and_follows_it(firm):
    firm.write("readings.csv", "install_id,measure,member,value,unit\nD1,jamb_face,left_jamb,0.1,deg\n")
    firm.take_in()
    asked = "SELECT round(value, 3), position_mm, written_value, written_unit FROM readings"
    assert firm.ask(asked) == [(3.665, 2100.0, 0.1, "deg")]  # tan(0.1 deg) x 2100 mm
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-10\n")
    firm.take_in()
    assert firm.set_aside() == [("readings.csv", 2, "value", "0.1", "row")]
    firm.write("installs.csv", "install_id,crew,fitted_on,height_mm\nD1,Alder,2025-01-10,1000\n")
    firm.take_in()
    assert firm.ask(asked) == [(1.745, 1000.0, 0.1, "deg")]


def test_the_firms_own_measure_brings_its_waiting_readings_in(firm):
    firm.write("readings.csv", "install_id,measure,value,unit\nD1,bolt_throw,20,mm\nD1,bolt_throw,1,in\n")
    firm.take_in()
    assert firm.account("readings") == (2, 0, 2, 0)
    firm.write("fitback.toml", '[[measure]]\nname = "bolt_throw"\nunit = "mm"\nhigh = 25.0\n')
    firm.take_in()
    assert firm.ask("SELECT value FROM readings") == [(20.0,)]
    assert firm.set_aside() == [("readings.csv", 3, "value", "1", "row")]
    assert firm.ask("SELECT DISTINCT \"version\" FROM loads WHERE record = 'readings'") == [(1,)]


def test_crews_are_closed_only_where_crews_are_given_and_their_case_does_not_count(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,ALDER,2025-01-10\nD2,Birch,2025-02-10\n")
    firm.take_in()
    assert firm.ask("SELECT crew FROM installs ORDER BY 1") == [("ALDER",), ("Birch",)]
    firm.write("crews.csv", "crew\nAlder\n")
    firm.take_in()
    assert firm.ask("SELECT crew FROM installs ORDER BY 1") == [("Alder",)]
    assert ("installs.csv", 3, "crew", "Birch", "row") in firm.set_aside()


def test_the_history_says_where_a_row_stood_and_what_was_written(firm):
    firm.write("readings.csv", "install_id,measure,value,unit,read_on\nD1,Frame Width,157 1/2,IN,2025-01-10 09:30\n")
    firm.take_in()
    asked = 'SELECT file, sheet, "row", "version", raw, value, unit, read_on FROM readings_history'
    raw = '{"measure":"Frame Width","value":"157 1/2","value rule":"fraction","unit":"IN"}'
    assert firm.ask(asked) == [("readings.csv", None, 2, 1, raw, 4000.5, "mm", date(2025, 1, 10))]


def test_a_stop_in_the_middle_leaves_the_state_before(firm, monkeypatch):
    firm.take_in()
    before = firm.ask("FROM readings_history"), firm.people("FROM install_rows")
    firm.write("installs.csv", "install_id,crew,fitted_on,customer\nD1,Alder,2025-01-10,New\n")
    firm.write("readings.csv", "install_id,measure,value,unit\nD1,frame_width,9,mm\n")
    monkeypatch.setattr("pipeline.ingest.take.write_files", _stop)
    with pytest.raises(KeyboardInterrupt):
        firm.take_in()
    assert firm.ask("FROM readings_history") == before[0]
    monkeypatch.undo()
    firm.take_in()
    assert firm.people("SELECT customer FROM install_people") == [("New",)]
    assert firm.people("SELECT count(*) FROM install_rows") == [(1,)]


def test_a_stop_between_the_two_databases_is_mended_by_the_next_run(firm, monkeypatch):
    firm.write("installs.csv", "install_id,crew,fitted_on,customer\nD1,Alder,2025-01-10,Name\n")
    calls = []

    def stop_the_second_time(connection):
        calls.append(connection)
        if len(calls) == 2:
            raise KeyboardInterrupt
        put_right(connection)

    from pipeline.ingest.history.people import put_people_right as put_right

    monkeypatch.setattr("pipeline.ingest.take.put_people_right", stop_the_second_time)
    with pytest.raises(KeyboardInterrupt):
        firm.take_in()
    assert firm.people("FROM install_people") == []
    monkeypatch.undo()
    firm.take_in()
    assert firm.people("SELECT customer FROM install_people") == [("Name",)]


def test_records_of_a_newer_fitback_are_refused_in_one_sentence(firm):
    firm.take_in()
    with duckdb.connect(str(firm.out / "records.duckdb")) as connection:
        connection.execute("UPDATE schema_version SET version = 99")
    with pytest.raises(Exception, match="written by a newer fitback"):
        firm.take_in()


def _stop(*_):
    raise KeyboardInterrupt


REGISTER = "install_id,crew,fitted_on,product,customer\nD1,Alder,2025-01-10,Plain,Anna Example\n"
FORM = "install_id,crew,fitted_on,width_mm,leaves,postcode\nD1,Alder,2025-01-10,3600,4,ZZ1 1EX\n"
WHOLE = [("D1", "Plain", 3600.0, 4)]
ASKED = "SELECT install_id, product, width_mm, leaves FROM installs"


@pytest.mark.parametrize("order", [("register", "form"), ("form", "register"), ("both",)])
def test_rows_of_one_door_that_complement_each_other_are_one_row(empty_firm, order):
    for name in order:
        if name in ("register", "both"):
            empty_firm.write("installs register.csv", REGISTER)
        if name in ("form", "both"):
            empty_firm.write("installs forms.csv", FORM)
        empty_firm.take_in()
    for _ in range(2):
        assert empty_firm.set_aside() == []
        assert empty_firm.ask(ASKED) == WHOLE
        assert empty_firm.people("SELECT customer, postcode FROM install_people") == [("Anna Example", "ZZ1 1EX")]
        assert empty_firm.account("installs") == ((2, 1, 0, 1) if order == ("both",) else (2, 2, 0, 0))
        empty_firm.take_in()


def test_what_a_row_borrowed_goes_when_the_row_that_said_it_does(empty_firm):
    empty_firm.write("installs register.csv", REGISTER)
    empty_firm.write("installs forms.csv", FORM)
    empty_firm.take_in()
    empty_firm.write("installs forms.csv", FORM.replace("3600,4,ZZ1 1EX", "3700,,ZZ2 2EX"))
    empty_firm.take_in()
    assert empty_firm.ask(ASKED) == [("D1", "Plain", 3700.0, None)]
    assert empty_firm.people("SELECT customer, postcode FROM install_people") == [("Anna Example", "ZZ2 2EX")]
    assert "ZZ1 1EX" not in repr(empty_firm.people("FROM install_rows"))


def test_a_cell_that_contradicts_keeps_complementing_rows_out(empty_firm):
    empty_firm.write("installs register.csv", REGISTER.replace("Plain", "Plain") + "D2,Birch,2025-01-10,,\n")
    empty_firm.write("installs forms.csv", FORM.replace("Alder", "Birch"))
    empty_firm.take_in()
    assert empty_firm.account("installs") == (3, 1, 2, 0)
    assert empty_firm.ask(ASKED) == [("D2", None, None, None)]


def test_a_newer_row_keeps_what_an_older_one_of_another_file_says_where_it_is_silent(empty_firm):
    empty_firm.write("installs register.csv", REGISTER)
    empty_firm.take_in()
    empty_firm.write("installs forms.csv", FORM.replace("Alder", "Birch"))
    empty_firm.take_in()
    assert empty_firm.ask(ASKED) == WHOLE
    assert empty_firm.ask("SELECT crew FROM installs") == [("Birch",)]


def test_three_rows_that_each_say_something_else_are_one(empty_firm):
    header = "callback_id,reported_on,install_id,note,hours,fault\n"
    rows = "C1,2025-06-01,D1,,,\nC1,2025-06-01,,drops,,\nC1,2025-06-01,,,2,draught\nC1,2025-06-01,,,2,\n"
    empty_firm.write("installs.csv", REGISTER)
    empty_firm.write("callbacks.csv", header + rows)
    for _ in range(2):
        empty_firm.take_in()
        assert empty_firm.account("callbacks") == (4, 1, 0, 3)
        assert empty_firm.ask("SELECT install_id, hours, fault FROM callbacks") == [("D1", 2.0, "draught")]
        assert empty_firm.people("SELECT note FROM callback_people") == [("drops",)]
