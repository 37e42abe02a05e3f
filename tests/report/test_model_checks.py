"""The methods sheet on the model itself: what a challenger saw, what is too few, how often strong claims hold."""

from pipeline.report.claims import FILE, Claims, claims_study
from pipeline.report.numbers import Interval
from pipeline.report.words import claims as words_of_claims
from pipeline.report.words import model_checks as words
from tests.report.invented_checks import checks, nothing_missed
from tests.report.samples import plain


def plain_text(page: str) -> str:
    return plain(page).replace('<span class="quiet">', "").replace("</span>", "")


def test_what_is_missed_is_named_with_where_to_look(pages):
    page = plain_text(pages["methods"])
    assert "Something is missed in stiff running: look at sill out of level and jamb out of plumb" in page
    assert "take recheck&#39;s risks for these faults as rough" in page
    assert "fewer callbacks came than either foretold" in page
    assert "model_checks.csv" in page


def test_nothing_missed_is_said_with_its_number_and_interval(make_page):
    page = plain_text(make_page("methods", model_checks=nothing_missed()))
    assert "The plain model misses nothing that the records can show: it ranks 78 % (75 to 81) of pairs" in page
    assert "Use recheck as it is" in page
    assert "Something is missed in" not in page
    assert "Both learned from 310 first callbacks up to 30 September 2025 and were judged on 168" in page
    assert "Of 1 fault there are too few callbacks to tell." in page


def test_too_few_says_what_it_takes(make_page, few_pages):
    page = plain_text(make_page("methods", model_checks=checks().filter(verdict="too_few")))
    assert "Too few callbacks to tell whether the plain model misses anything" in page
    assert "the most there are is 3 and 2, of noise" in page
    assert "Too few callbacks to tell whether the plain model misses anything" in few_pages["methods"]
    assert "No fault has ten first callbacks yet" in few_pages["methods"]


def test_strong_claims_are_told_as_the_study_wrote_them(pages):
    study, page = claims_study(), plain_text(pages["methods"])
    assert f"holds the truth in {words_of_claims.says(study).split('truth in ')[1]}" in page
    assert f"{study.whole.claims:,} claims, on simulated firms" in page
    assert f"seed {study.seed}" in page
    for each in study.scenarios:
        assert words_of_claims.kind(each) in page


def test_the_shipped_figures_add_up():
    study = claims_study(FILE)
    parts = study.scenarios
    for name in ("firms", "claims", "held", "false"):
        total = sum(getattr(part, name) for part in parts)
        whole = getattr(study.whole, name)
        # firms without any strong claim stand only in the whole
        assert total <= whole if name == "firms" else total == whole
    for part in (*parts, study.whole):
        assert part.share == round(part.held / part.claims, 3)
        assert part.share_low <= part.share <= part.share_high
        assert part.share_low < part.share_high
        assert part.held + part.false <= part.claims
    assert all(part.name in words_of_claims.KINDS for part in parts)


def test_the_kind_that_held_least_is_told_and_an_unknown_kind_keeps_its_name():
    study = claims_study()
    many = [part for part in study.scenarios if part.claims >= words_of_claims.LEAST_CLAIMS]
    least = min(many, key=lambda part: part.share)
    assert words_of_claims.kind(least) in words_of_claims.do(study)
    assert words_of_claims.kind(Claims(1, 1, 1, 0, 1.0, 0.2, 1.0, None, "a new kind")) == "a new kind"


def test_what_trees_rank_rightly_is_told_the_way_it_goes():
    assert words.gain_words(Interval(-0.018, -0.040, 0.004, 0.0)) == "1.8 (−0.4 to 4.0) fewer"
    assert words.gain_words(Interval(0.03, 0.01, 0.05, 0.0)) == "3.0 (1.0 to 5.0) more"
