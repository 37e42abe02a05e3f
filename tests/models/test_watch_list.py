"""What a crew's sheet lists: what matters first, one of a family, one check at most, else the trade's usual three."""

import polars as pl
import pytest

from pipeline.catalogue import load_catalogue
from pipeline.catalogue.tables import catalogue_tables
from pipeline.model.marts.watch_list import USUAL, build

CATALOGUE = catalogue_tables(load_catalogue({}))
DEVIATIONS, LIMITS = CATALOGUE["catalogue_deviations"], CATALOGUE["catalogue_limits"]
STEPS = dict(DEVIATIONS.select("name", "step").rows())
PAIRS = {
    "fault": pl.String,
    "deviation": pl.String,
    "role": pl.String,
    "evidence": pl.String,
    "contrast_low": pl.Float64,
}
WORTH = {"crew": pl.String, "step": pl.String, "priority": pl.Float64, "priority_low": pl.Float64}


def watched(out, effects=(), worth=()):
    """Deviations listed for crew A with why, given what was out on how many of its 40 doors."""
    outs = pl.DataFrame(
        [
            {
                "crew": "A",
                "deviation": name,
                "doors_recorded": 40 if name in out else 0,
                "doors_out": out.get(name, 0),
                "doors_undecided": 0,
            }
            for name in STEPS
        ]
    )
    pairs = pl.DataFrame([(f, d, "cause", e, low) for f, d, e, low in effects], schema=PAIRS, orient="row")
    steps = pl.DataFrame([("A", *one) for one in worth], schema=WORTH, orient="row")
    rows = build(steps, outs, pairs, DEVIATIONS, LIMITS)
    assert rows["place"].to_list() == [1, 2, 3]
    return dict(rows.select("deviation", "why").rows())


def test_without_records_it_is_the_usual_three_in_the_order_of_the_work():
    assert watched({}) == dict.fromkeys(USUAL, "usual")


def test_what_practice_is_shown_to_spare_goes_before_what_has_evidence_elsewhere():
    effects = [
        ("stiff_running", "sill_level_error", "strong", 1.7),
        ("draught", "jamb_twist", "strong", 1.5),
        ("lock_misaligned", "frame_diagonal_difference", "suggestive", 1.2),
        ("binding", "head_parallel_error", "suggestive", 1.1),
    ]
    out = dict.fromkeys(["sill_level_error", "jamb_twist", "frame_diagonal_difference", "head_parallel_error"], 8)
    found = watched(out, effects, [("frame", 6.0, 0.7), ("sill", 9.0, 0.0)])
    assert found["jamb_twist"] == "practice"
    assert found["sill_level_error"] == "evidence"
    assert sum(why == "practice" for why in found.values()) == 2


def test_one_of_a_family_one_check_at_most_and_no_symptom():
    effects = [
        ("dropped_leaf", "toe_and_heel", "strong", 3.0),
        ("stiff_running", "track_clean", "strong", 3.0),
        ("water_ingress", "end_dams_sealed", "strong", 3.0),
    ]
    out = {"toe_and_heel": 30, "track_clean": 30, "end_dams_sealed": 30, "locks_operate": 40, "folds_freely": 40}
    found = watched(out | {"sill_bow": 20, "sill_chord_bow": 20}, effects)
    assert sum(name in effects_of(effects) for name in found) == 1
    assert "sill_bow" in found
    assert not {"sill_chord_bow", "locks_operate", "folds_freely"} & set(found)


def effects_of(effects):
    return {deviation for _, deviation, _, _ in effects}


@pytest.mark.parametrize("why", ["less often than no effect", "never out", "no limit"])
def test_what_says_nothing_is_not_chosen(why):
    low = 0.9 if why.startswith("less") else 1.5
    name = "seal_compression_spread" if why == "no limit" else "sill_bow"
    out = {} if why == "never out" else {name: 2}
    assert watched(out, [("binding", name, "strong", low)]) == dict.fromkeys(USUAL, "usual")
