"""Effects once more without the readings of crews whose records are in doubt."""

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.model.without_doubtful import RESTS_ON_DOUBTFUL, TURNS_WITHOUT_DOUBTFUL, held_to
from tests.models.test_record_credibility import copies, of, records

PAIR = ["fault", "deviation"]


def test_what_was_found_is_fitted_again_as_if_doubtful_readings_had_not_been_taken(run_model):
    firm = simulate(doors=1400, crews=14, seed=11, callbacks_per_door=0.9)
    crew = firm.records["crews"]["crew"][0]
    cheated = copies(firm.readings, crew, np.random.default_rng(5))
    found = run_model("effects", **records(firm, cheated)).frame
    left_out = run_model("effects", **records(firm, cheated.filter(~of(crew)))).frame
    n_doors = firm.records["installs"].filter(pl.col("crew") == crew).height
    assert 0.9 * n_doors < found["doubted_doors"][0] <= n_doors
    assert set(left_out["doubted_doors"]) == {0}
    assert left_out["ratio_without_doubtful"].null_count() == left_out.height
    both = found.join(left_out.select(*PAIR, without="contrast_ratio"), on=PAIR)
    is_found = (both["p_value"] <= 0.05).fill_null(False)
    assert 5 < is_found.sum() < both.height
    assert both.filter(is_found)["ratio_without_doubtful"].to_list() == pytest.approx(
        both.filter(is_found)["without"].to_list(), rel=1e-6
    )
    assert both.filter(~is_found)["ratio_without_doubtful"].null_count() == both.height - is_found.sum()


@pytest.mark.parametrize(
    ("word", "is_worse", "ratio", "expected"),
    [
        ("strong", True, 1.4, ("strong", "")),
        ("strong", True, 0.9, ("suggestive", TURNS_WITHOUT_DOUBTFUL)),
        ("strong", True, None, ("suggestive", RESTS_ON_DOUBTFUL)),
        ("suggestive", True, None, ("suggestive", "")),
        ("suggestive", True, 0.9, ("suggestive", TURNS_WITHOUT_DOUBTFUL)),
        ("suggestive", False, 1.2, ("suggestive", TURNS_WITHOUT_DOUBTFUL)),
        ("none", True, 0.9, ("none", "")),
    ],
)
def test_strong_evidence_must_keep_its_direction_without_doubtful_records(word, is_worse, ratio, expected):
    assert held_to(word, "", is_worse, ratio) == expected
