"""The gap to the wall that the catalogue recommends for each door."""

import numpy as np
import polars as pl

from pipeline.catalogue.rows import Catalogue
from pipeline.demo.arrays import Floats

OPENING_WIDER_MM = 22.0  # the opening is ordered that much wider than the frame


def recommended_gaps(installs: pl.DataFrame, catalogue: Catalogue) -> Floats:
    """Gap per side, mm; doors wider than the table take its last row (they get no deviation from it)."""
    gap = np.full(installs.height, np.nan)
    width = installs["width_mm"].to_numpy() + OPENING_WIDER_MM
    for row in catalogue.gaps:
        fits = (installs["material"] == row.material).to_numpy() & (width > row.over_mm)
        if row.colour:
            fits &= (installs["colour"] == row.colour).to_numpy()
        gap[fits] = row.gap_mm
    return gap
