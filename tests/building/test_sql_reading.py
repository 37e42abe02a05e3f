"""What a SELECT reads, told from its text."""

import pytest

from pipeline.sql_reading import columns_named, parse_select, tables_read, taken_whole


def test_a_query_reads_tables_but_not_its_own_common_tables():
    query = """
    with staged as (select a from installs join settings using (firm)), second as (from staged)
    select *, (select max(a) from training) from second
    join (select a from checks qualify row_number() over () = 1) as inner_checks using (a), unnest([1]) as u, range(3)
    where exists (select 1 from crews where crews.a = second.a) and a in (from files select a)
    union all by name select a from "callbacks"
    """
    assert tables_read(query) == ("callbacks", "checks", "crews", "files", "installs", "settings", "training")


def test_a_common_table_may_bear_the_name_of_the_table_that_it_reads():
    assert tables_read("with doors as (select a from doors) select a from doors") == ("doors",)


@pytest.mark.parametrize("text", ["create table t as select 1", "select 1; select 2", "", "selec 1 frm x where ("])
def test_a_text_that_is_not_one_select_is_refused(text):
    with pytest.raises(ValueError, match=r"SELECT|parsed"):
        parse_select(text)


def test_a_semicolon_and_comments_do_no_harm():
    assert tables_read("-- doors: x\nselect a from installs; -- the end") == ("installs",)


def test_names_are_found_wherever_they_stand():
    query = 'select "Crew", max(a.b) over (order by c) from t as a join u using (d) where e > 1 group by all'
    assert {"crew", "b", "c", "d", "e"} <= columns_named(query)


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("select a, count(*) as n from t group by a", set()),
        ("select * from t join u using (a)", {"t", "u"}),
        ("from t", {"t"}),
        ("select x.*, u.a from t as x join u using (a)", {"t"}),
        ("with c as (select a from t) select c.*, u.b from c cross join u", set()),
        ("with c as (select * from t) select c.a from c cross join u", {"t"}),
        ("select max(columns(*)) from t", {"*"}),
        ("select a from t where t is not null", {"*"}),
    ],
)
def test_tables_taken_whole_are_told_from_those_whose_columns_are_named(query, expected):
    assert taken_whole(query) == expected
