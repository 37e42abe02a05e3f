"""The contrast that evidence is judged on, where hardly any door differs from the others."""

import numpy as np
import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import places
from pipeline.model.pair_design import contrast_of

PLACES = places(catalogue_tables(load_catalogue())["catalogue_deviations"])


@pytest.mark.parametrize("other", [10.0, 30.0])
@pytest.mark.parametrize("name", ["seal_compression_low", "jamb_twist"])
def test_where_nearly_all_doors_are_alike_the_contrast_goes_from_the_low_to_the_high_value(name, other):
    values = np.r_[np.full(95, 24.0), np.full(5, other)]
    assert contrast_of(values, PLACES[name]) == (min(24.0, other), max(24.0, other))
