"""The job in a door's number, read by one rule in Python and in the two places of SQL that cannot call it."""

import re
from pathlib import Path

import duckdb
import pytest

from pipeline.ingest.linking.job_numbers import JOB_OF_DOOR
from pipeline.ingest.texts.doors_of_jobs import job_of

MODEL = Path(__file__).parents[3] / "dbt_like_sql/staging/linked_callbacks.sql"


def test_both_places_have_the_same_pattern():
    (in_model,) = re.findall(r"install_id, '(.+?)', 1", MODEL.read_text(encoding="utf-8"))
    (in_python,) = re.findall(r"install_id, '(.+?)', 1", JOB_OF_DOOR)
    assert in_model == in_python


@pytest.mark.parametrize(
    "number",
    ["C4114/1", "20417 - A", "20417-02", "D-12", "1042.10", "C4114", "12/1", "A/B123-1", "J-1042.7"],
)
def test_sql_and_python_read_the_same_job(number):
    sql = f"SELECT {JOB_OF_DOOR} FROM (SELECT ? AS install_id, NULL::VARCHAR AS job_no) AS installs"
    ((job,),) = duckdb.execute(sql, [number]).fetchall()
    assert (job or "") == job_of(number)
