"""Names, addresses, job numbers and notes in parts; and that the string measure is the published one."""

import duckdb
import pytest

from pipeline.ingest.linking.chances import chances_of
from pipeline.ingest.linking.job_numbers import job_keys
from pipeline.ingest.linking.names import name_of
from pipeline.ingest.linking.notes import leaves_in, width_in
from pipeline.ingest.linking.places import place_of


@pytest.mark.parametrize("text", ["Jane Invent", "INVENT, Jane", "Ms J. Invent", "Mr & Mrs J Invent", "J Invént"])
def test_one_person_written_in_several_ways_is_one_name(text):
    assert name_of(text)[:2] == ("INVENT", "J")


def test_first_and_last_name_exchanged_are_the_same_whole_name():
    assert name_of("Invent Jane").whole == name_of("Mrs Jane Invent").whole == "INVENT JANE"


@pytest.mark.parametrize(
    ("text", "name"),
    [(None, (None, None)), ("  ", (None, None)), ("Mrs Invent", ("INVENT", None)), ("M Invent", ("INVENT", "M")),
     ("Anna O'Sample", ("OSAMPLE", "A")), ("Anna Sample-Invent", ("SAMPLEINVENT", "A")),
     ("Example Homes Ltd", ("HOMES", "E")),
     ("李", (None, None)), ("李明 王", ("李明", "王"))],
)  # fmt: skip
def test_what_is_not_written_is_not_made_up(text, name):
    assert name_of(text)[:2] == name


@pytest.mark.parametrize(
    "address",
    ["12 Elm Road", "12, Elm Rd.", "012 elm rd", "Elm Road 12", "12 Elm Road, Barton", "12  ELM   ROAD"],
)
def test_one_address_written_in_several_ways_is_one_place(address):
    assert place_of(address, "zz1 1ex") == (None, "12", "ELM ROAD", "ZZ11EX", "ZZ1")


@pytest.mark.parametrize(
    ("address", "flat", "house", "street"),
    [("Plot 7 Elm Road", None, None, "ELM ROAD"), ("Flat 2, 14 Elm St", "2", "14", "ELM STREET"),
     ("St Anne's Close 3", None, "3", "SAINT ANNES CLOSE"), ("12a Oak Ln", None, "12A", "OAK LANE"),
     ("Rose Cottage, Mill Lane", None, None, "ROSE COTTAGE"), (None, None, None, None)],
)  # fmt: skip
def test_flats_plots_and_houses_without_a_number(address, flat, house, street):
    assert place_of(address, None)[:3] == (flat, house, street)


def test_a_postcode_inside_the_address_counts_where_its_own_cell_is_empty():
    assert place_of("12 Elm Road, ZZ1 1EX", None) == place_of("12 Elm Road", "ZZ11EX")


def test_a_prefix_is_dropped_only_where_one_job_has_that_number():
    keys = job_keys(["A-100", "B-100", "J-0042", "77a", "77b"], ["100", "42", "job 42", "0042", "77", "77A"], {})
    assert keys["42"] == keys["job 42"] == keys["0042"] == keys["J-0042"]
    assert keys["A-100"] != keys["B-100"]
    assert keys["100"] not in (keys["A-100"], keys["B-100"])
    assert keys["77A"] == keys["77a"] != keys["77b"]
    assert keys["77"] not in (keys["77a"], keys["77b"])


def test_an_order_number_stands_for_its_job_by_the_firms_own_word():
    assert job_keys(["1042"], ["Q 77", "q-0077"], {"Q-77": "1042"}) == {
        "1042": "1042",
        "Q 77": "1042",
        "q-0077": "1042",
    }


def test_a_note_counts_leaves_only_where_it_says_so():
    assert [leaves_in(note) for note in ("4 leaf set", "leaf 4 drops", "3 doors and 4 panels", None)] == [
        4,
        None,
        None,
        None,
    ]
    assert [width_in(note) for note in ("3.6m opening", "3600 mm", "12 mm gap", "2 m and 3 m")] == [
        3600,
        3600,
        None,
        None,
    ]


@pytest.mark.parametrize(
    ("one", "other", "similarity"),
    [("MARTHA", "MARHTA", 0.961), ("DWAYNE", "DUANE", 0.840), ("DIXON", "DICKSONX", 0.813)],
)
def test_the_string_measure_is_the_published_one(one, other, similarity):
    """Winkler (1990), Proc. Survey Research Methods, ASA, 354-359: worked pairs of the measure; from memory."""
    (found,) = duckdb.execute("SELECT jaro_winkler_similarity(?, ?)", [one, other]).fetchall()[0]
    assert found == pytest.approx(similarity, abs=0.0006)


def test_chance_agreement_is_counted_over_pairs_of_different_houses():
    import polars as pl

    columns = ("unique_id", "job_key", "surname", "postcode", "outward", "house", "street", "leaves", "site")
    rows = [
        (str(n), str(n), "SMITH" if n < 10 else f"X{n}", f"P{n // 2}", "P", "1", f"S{n}", 3, str(n)) for n in range(40)
    ]
    doors = pl.DataFrame(rows, schema=list(columns), orient="row")
    chances = chances_of(doors)
    assert chances.surname == pytest.approx(10 * 9 / (40 * 39))
    assert chances.postcode == pytest.approx(20 * 2 / (40 * 39))
    in_one_house = chances_of(doors.with_columns(pl.col("postcode").alias("site")))
    assert in_one_house.postcode == pytest.approx(0.2 / 40)


def test_probabilities_of_splink_are_those_of_the_model_worked_by_hand(tmp_path):
    """Fellegi and Sunter (1969), JASA 64, 1183-1210: odds = prior odds x product of m/u; here two comparisons."""
    from datetime import date

    import polars as pl

    from pipeline.ingest.linking.scores import FROM_OUR_DOORS, scored_pairs

    texts = (
        "unique_id",
        "site",
        "job_key",
        "surname",
        "initial",
        "whole",
        "flat",
        "house",
        "street",
        "postcode",
        "outward",
    )
    days = ("reported_on", "started_on", "removed_on")
    schema = (
        dict.fromkeys(texts, pl.String) | dict.fromkeys(days, pl.Date) | {"leaves": pl.Int32, "width_mm": pl.Float64}
    )
    doors = [{"unique_id": f"D{n}", "site": f"D{n}", "job_key": str(n), "leaves": n % 5} for n in range(100)]
    callbacks = [{"unique_id": "C", "job_key": "7", "leaves": 2, "reported_on": date(2025, 1, 1)}]
    frames = [pl.DataFrame(rows, schema=schema) for rows in (callbacks, doors)]
    (pair,) = scored_pairs(frames[0], frames[1], tmp_path).rows(named=True)
    prior = FROM_OUR_DOORS / (1 - FROM_OUR_DOORS) / 100
    same_leaves = (5 * 20 * 20 - 100) / (100 * 99)
    assert pair["install_id"] == "D7"
    assert 2 ** pair["weight"] == pytest.approx(prior * 0.72 / 0.01 * 0.92 / same_leaves, rel=1e-6)
