"""Which deviations adjust for which."""

import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import Place, adjusters_of, places


@pytest.fixture(scope="module")
def everything() -> dict[str, Place]:
    return places(catalogue_tables(load_catalogue())["catalogue_deviations"])


def test_later_steps_never_adjust(everything: dict[str, Place]) -> None:
    found = adjusters_of(everything["sill_level_error"], everything)
    assert "aperture_diagonal_difference" in found
    assert not {"frame_diagonal_difference", "threshold_gap_spread", "leaf_drop_racking"} & set(found)


def test_acts_adjust_for_acts_and_geometry_for_both(everything: dict[str, Place]) -> None:
    act = adjusters_of(everything["sill_bedded"], everything)
    geometry = adjusters_of(everything["sill_bow"], everything)
    assert "sill_joint_sealed" in act
    assert "sill_level_error" not in act
    assert {"sill_joint_sealed", "sill_bedded", "sill_level_error"} <= set(geometry)


def test_a_family_never_adjusts_for_itself(everything: dict[str, Place]) -> None:
    assert "frame_diagonal_difference" not in adjusters_of(everything["frame_racking"], everything)
    assert "leaf_drop_rotation" not in adjusters_of(everything["leaf_drop"], everything)


def test_symptoms_variants_and_record_tests_never_adjust(everything: dict[str, Place]) -> None:
    found = set(adjusters_of(everything["track_clean"], everything))
    assert not {"running_force", "locks_operate", "gap_taper", "jamb_lean_out", "tape_misclosure"} & found
    assert "seal_compression_low" in found
