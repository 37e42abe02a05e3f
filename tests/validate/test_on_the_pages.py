"""Five doors, no callback, an expectation of the firm's own and a broken one: from fitback.toml to page and table."""

import json
from pathlib import Path

import polars as pl
import pytest
from typer.testing import CliRunner

from pipeline.cli import app

OWN = """
as_of = 2026-03-01
[[expectation]]
name = "widths as we build"
table = "installs"
expect = "expect_column_values_to_be_between"
with = { column = "width_mm", max_value = 4000 }
words = "doors are wider than we build; measure them again"
[[expectation]]
name = "mistyped"
table = "installs"
expect = "expect_column_values_to_be_between"
with = { column = "widht_mm", max_value = 4000 }
"""


@pytest.fixture(scope="module")
def out(tmp_path_factory) -> Path:
    """The output folder of a run on five doors; the answer was JSON and nothing else."""
    folder = tmp_path_factory.mktemp("five") / "doors"
    folder.mkdir()
    doors = [f"D{number},Alder,2025-0{number}-10,{3800 + 100 * number}" for number in range(1, 6)]
    (folder / "installs.csv").write_text("\n".join(["install_id,crew,fitted_on,width_mm", *doors]), encoding="utf-8")
    (folder / "fitback.toml").write_text(OWN, encoding="utf-8")
    ended = CliRunner().invoke(app, ["run", str(folder), "--json"])
    assert ended.exit_code == 0, ended.output
    json.loads(ended.stdout)
    return folder.with_name("doors-fitback")


def test_own_and_broken_expectations_stand_in_table_and_page(out):
    found = pl.read_csv(out / "tables/expectation_checks.csv").to_dicts()
    told = {line["expectation"]: (line["outcome"], line["sentence"]) for line in found}
    assert told["widths as we build"] == ("not met", "3 of 5 doors are wider than we build; measure them again.")
    assert told["mistyped"][0] == "not evaluated"
    assert told["30 doors or more"][0] == "not met"
    page = (out / "pages/records.html").read_text("utf-8")
    assert "3 of 5 doors are wider than we build; measure them again." in page
    assert "Could not be evaluated, so it says nothing about the records: mistyped" in page


def test_without_callbacks_none_of_their_expectations_fails(out):
    found = pl.read_csv(out / "tables/expectation_checks.csv")
    others = found.filter(~pl.col("record").is_in(["installs"]))
    assert others.height > 10
    assert set(others["outcome"]) == {"nothing to check"}
