"""Deviations and limits as matrices: one row a door, one column a deviation, nan where there is none."""

import numpy as np
import polars as pl

from pipeline.stats.intervals import Floats

DECIMALS = 9


def door_matrix(gathered: pl.DataFrame, install_ids: pl.Series, n_deviations: int, amounts: str = "amounts") -> Floats:
    """(n, D) values in the order of install_ids; column = the deviation's ordinal.

    gathered  door_values or door_limits: install_id, ordinals, and columns of amounts (lists of one length)
    amounts   which of these columns
    """
    doors = pl.DataFrame({"install_id": install_ids}).with_row_index("door")
    cells = gathered.join(doors, on="install_id").select("door", "ordinals", amounts).explode("ordinals", amounts)
    cells = cells.drop_nulls()
    matrix = np.full((len(install_ids), n_deviations), np.nan)
    # what the arithmetic of a straight line leaves over (1e-14 mm) is no difference between doors
    matrix[cells["door"].to_numpy(), cells["ordinals"].to_numpy().astype(int)] = (
        cells[amounts].to_numpy().round(DECIMALS)
    )
    return matrix
