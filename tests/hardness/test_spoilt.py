"""A seeded sample of spoilt files, and the judges themselves: each sees what it is there to see."""

import sys

import openpyxl
import pytest

from tests.hardness.harmless import harmful
from tests.hardness.sample import figures_of
from tests.hardness.spoilt import MOST_MIB


@pytest.mark.skipif(sys.platform == "win32", reason="forks and limits")
def test_spoilt_files_break_nothing_and_every_row_is_accounted_for():
    found = figures_of("spoilt", "--files", "500", "--seed", "1")
    assert found["faults"] == []
    assert found["files"] == 500
    assert found["most_mib"] < MOST_MIB
    assert len(found["kinds"]) > 30


@pytest.mark.parametrize(
    ("name", "text", "is_harmful"),
    [
        ("tables/a.csv", "a,b\n=1+1,2\n", True),
        ("tables/a.csv", "a,b\n'=1+1,-2.5e-07\n", False),
        ("tables/a.csv", 'a,b\n"\t=1",2\n', True),
        ("pages/a.html", "<p>&lt;zzmark onload=alert(1)&gt;</p>", False),
        ("pages/a.html", "<p><zzmark onload=alert(1)></p>", True),
        ("pages/a.html", "<p title='x' onclick='zzmark()'>x</p>", True),
        ("pages/a.html", "<script>let a = 'zzmark'</script>", True),
        ("pages/a.html", "<a href=' javascript:zzmark()'>x</a>", True),
    ],
)
def test_the_judge_of_harm_sees_what_would_be_run(tmp_path, name, text, is_harmful):
    (tmp_path / name).parent.mkdir()
    (tmp_path / name).write_text(text, encoding="utf-8")
    assert bool(harmful(tmp_path)) == is_harmful


@pytest.mark.parametrize(("cell", "is_harmful"), [("=1+1", True), ("'=1+1", False), ("@x", True), (-3, False)])
def test_the_judge_of_harm_sees_formulas_in_workbooks(tmp_path, cell, is_harmful):
    book = openpyxl.Workbook()
    book.active.append([cell])
    book.save(tmp_path / "a.xlsx")
    assert bool(harmful(tmp_path)) == is_harmful
