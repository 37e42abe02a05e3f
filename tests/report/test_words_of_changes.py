"""What the letter says of the run before: no change is claimed that chance could be."""

from dataclasses import replace
from datetime import date

from pipeline.report.rows.change_rows import RunChange
from pipeline.report.words import changes
from tests.report.invented_changes import run_changes

BLANK = RunChange(
    "rate", None, None, "all", None, None, 12.1, 10.9, 13.4, 11.4, 10.2, 12.7, "2026-06-01T080000-0a", date(2026, 5, 31)
)


def test_the_letter_tells_what_changed_since_the_last_run(pages):
    page = pages["index"].replace("\N{NO-BREAK SPACE}", " ")
    assert "What changed since the run of 1 June 2026" in page
    assert "On record: 62 more doors and 31 more callbacks. The records then ran to 31 May 2026." in page
    assert "toe and heel" in page.split("Strong evidence now and not then")[1].split("Strong evidence then")[0]
    assert "Told apart from the firm now and not then, called back more often: crew K4." in page


def test_without_a_run_before_or_a_change_the_letter_does_not_speak_of_it(make_page):
    assert "What changed" not in make_page("index", run_changes=run_changes().clear())
    assert changes.says([]) == []
    assert changes.headline([]) == ""


def test_a_rate_has_changed_only_where_the_intervals_lie_apart():
    (could_be_chance,) = changes.says([BLANK])
    assert could_be_chance == (
        "Callbacks per 100 door-years: 12.1 (10.9 to 13.4), then 11.4 (10.2 to 12.7); that could be chance."
    )
    (apart,) = changes.says([replace(BLANK, value_before=8.0, low_before=7.0, high_before=9.1)])
    assert apart.endswith("then 8.0 (7.0 to 9.1); more often than then.")
    assert changes.says([replace(BLANK, value=None)]) == []


def test_what_is_gone_is_told_and_what_is_too_much_is_counted():
    cause = replace(BLANK, kind="cause", words="sill bowed", fault_words="draught", state="none", state_before="strong")
    told = changes.says([cause] * 5)
    assert len(told) == 1
    assert told[0].startswith("Strong evidence then and no longer: “sill bowed” for draught, 12.1 (10.9 to 13.4) times")
    assert told[0].endswith("and 2 more.")
    crew = replace(BLANK, kind="crew", crew="K4", state="inside", state_before="above")
    assert changes.says([crew]) == ["Told apart from the firm then and no longer: crew K4."]


def test_a_crew_is_told_apart_only_where_the_interval_is_clear_too():
    crew = replace(BLANK, kind="crew", crew="K4", state="above", state_before="inside")
    assert changes.says([replace(crew, value=1.3, low=0.9, high=1.9)]) == []
    (told,) = changes.says([replace(crew, value=1.6, low=1.2, high=1.9)])
    assert told == "Told apart from the firm now and not then, called back more often: crew K4."


def test_the_methods_sheet_tells_what_changed_with_the_figures(pages, make_page):
    page = pages["methods"].replace("\N{NO-BREAK SPACE}", " ")
    assert "What changed since the run of 1 June 2026" in page
    assert "The table behind: 6 figures not as in the run of 1 June 2026" in page
    assert "times as often" in page.rpartition("changes-table")[2]
    same = make_page("methods", run_changes=run_changes().clear())
    assert "Nothing to tell of a run before this one" in same
    assert "changes-table" not in same
