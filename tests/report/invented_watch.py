"""What the invented firm's crews watch and which way they err: the real models over invented sums."""

import numpy as np
import polars as pl

from pipeline.model.marts import usual_sides, watch_list

PLACES = (
    ("sill_level_error", "sill_height", ""),
    ("sill_tilt_in", "sill_tilt", ""),
    ("frame_diagonal_difference", "frame_diagonal", ""),
    ("jamb_plumb_error", "jamb_edge", "left_jamb"),
    ("jamb_plumb_error", "jamb_edge", "right_jamb"),
    ("jamb_plumb_error", "jamb_face", "left_jamb"),
    ("jamb_plumb_error", "jamb_face", "right_jamb"),
    ("head_parallel_error", "clear_height", ""),
    ("leaf_drop_rotation", "leaf_drop_rotation", ""),
    ("leaf_drop_racking", "leaf_drop_racking", ""),
    ("leaf_drop", "racking_less_rotation", ""),
)
# K3's left jambs lean in by 1.4 mm and its right jambs the same way, K5's sills are high at the left; K7 racks
MEANS = {
    ("K3", "jamb_edge", "left_jamb"): 1.4,
    ("K3", "jamb_edge", "right_jamb"): 1.1,
    ("K5", "sill_height", ""): -1.6,
    ("K7", "racking_less_rotation", ""): 1.2,
}


def watched(tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Both tables, from the firm's others."""
    read = ("weak_steps", "crew_outs", "effects", "catalogue_deviations", "catalogue_limits")
    crews = tables["crew_outs"]["crew"].unique().sort().to_list()
    return {
        "watch_list": watch_list.build(*(tables[name] for name in read)),
        "usual_sides": usual_sides.build(side_sums(crews)),
    }


def side_sums(crews: list[str]) -> pl.DataFrame:
    """60 doors a crew and place, 4 where the crew's name ends in 9; spread of 1.5 mm about its mean."""
    rng = np.random.default_rng(11)
    rows = []
    for crew in crews:
        for deviation, measure, member in PLACES:
            n = 4 if crew.endswith("9") else 60
            mean = MEANS.get((crew, measure, member), 0.8 if deviation.startswith("leaf_drop_") else 0.0)
            values = mean + rng.normal(0.0, 1.5, n)
            rows.append(
                {
                    "crew": crew, "deviation": deviation, "measure": measure, "member": member, "doors": n,
                    "doors_plus": int((values > 0).sum()), "doors_minus": int((values < 0).sum()),
                    "total": float(values.sum()), "squares": float(((values - values.mean()) ** 2).sum()),
                }
            )  # fmt: skip
    return pl.DataFrame(rows)
