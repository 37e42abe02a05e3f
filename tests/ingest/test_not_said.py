"""What programs and people write into a cell that holds nothing is nothing."""

import pytest


@pytest.mark.parametrize("word", ["NULL", "NaN", "#N/A", "n/a", "-", "none", "?"])
def test_a_place_or_number_that_says_nothing_is_empty(firm, word):
    firm.write(
        "readings.csv",
        "install_id,measure,member,station,position_mm,value,unit\n"
        f"D1,sill_height,sill,{word},0,1.5,mm\nD1,sill_height,{word},{word},1000,2.5,mm\n",
    )
    firm.write("callbacks.csv", f"callback_id,install_id,job_no,reported_on\nC1,{word},{word},2025-06-01\n")
    firm.take_in()
    assert firm.ask("SELECT member, station FROM readings") == [("sill", None)] * 2
    assert firm.ask("SELECT install_id, job_no FROM callbacks") == [(None, None)]
    assert firm.set_aside() == []


def test_a_door_that_is_required_is_not_made_of_it(firm):
    firm.write("readings.csv", "install_id,measure,value,unit\nn/a,frame_width,3000,mm\n")
    firm.take_in()
    assert firm.set_aside() == [("readings.csv", 2, "install_id", None, "row")]


def test_of_a_check_it_is_an_answer(firm):
    firm.write("checks.csv", "install_id,check,outcome\nD1,sill_bedded,n/a\n")
    firm.take_in()
    assert firm.ask("SELECT outcome FROM checks") == [("not_applicable",)]


def test_a_word_of_programs_is_a_name_in_other_case(firm):
    firm.write("installs.csv", "install_id,crew,product,fitted_on\nD1,Null,NULL,2025-01-10\n")
    (firm.folder / "readings.csv").unlink()
    firm.take_in()
    assert firm.ask("SELECT crew, product FROM installs") == [("Null", None)]
