"""The causal world of the invented firm, as data: how deviations arise, what they lead to, what they cause.

All numbers are invented. Units are those of the catalogue; an effect is a log hazard ratio for one unit (1 mm, one
share, one packer), also where the catalogue states effects for 50 mm.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Source:
    """A deviation's own part: base + sign x carelessness x typical x g, with g a gamma variable of mean 1.

    shape      of the gamma; the smaller, the heavier its tail
    chance     share of doors that have it at all, at carelessness 1; the others stay at base
    wide_power the part grows with (width / 3600 mm) to this power
    """

    typical: float
    base: float = 0.0
    shape: float = 2.0
    chance: float = 1.0
    wide_power: float = 0.0
    sign: float = 1.0
    low: float = 0.0
    high: float = float("inf")


SOURCES = {
    "aperture_width_spread": Source(5.0),
    "aperture_height_spread": Source(4.0),
    "aperture_diagonal_difference": Source(6.0, wide_power=0.3),
    "sill_level_error": Source(1.7, wide_power=0.5),
    "sill_bow": Source(0.9, wide_power=0.3),
    "sill_tilt_in": Source(2.4, chance=0.2),
    "sill_line_bow": Source(1.2),
    "sill_fixing_spacing": Source(90.0, base=400.0, high=900.0),
    "frame_diagonal_difference": Source(1.1, shape=1.6),
    "jamb_plumb_error": Source(1.2, base=0.2),
    "jamb_twist": Source(1.2, shape=1.5),
    "head_parallel_error": Source(1.0, base=0.1),
    "head_bow": Source(0.35),
    "fixing_spacing": Source(90.0, base=420.0, high=900.0),
    "fixing_corner_distance": Source(60.0, base=260.0, sign=-1.0, low=30.0),
    "unpackered_fixings": Source(0.06, shape=0.6, high=0.9),
    "perimeter_gap_shortfall": Source(2.0, chance=0.18, high=3.8),
    "head_gap_spread": Source(1.7, base=2.5),
    "threshold_gap_spread": Source(1.6, base=2.5),
    "side_gap_taper": Source(2.2, base=1.2),
    "leaf_drop_rotation": Source(0.55),
    "hinge_packer_count": Source(1.8, high=8.0),
    "leaf_drop_racking": Source(0.55),
    "leaf_diagonal_difference": Source(0.7, base=0.2),
    "seal_compression_spread": Source(0.7, base=0.2),
    "seal_compression_low": Source(0.75, base=3.0, sign=-1.0, low=-1.0),
}

# Share of doors (of leaves, where a check is made per leaf) that fail at carelessness 1.
CHECK_RATES = {
    "aperture_clean": 0.16,
    "head_clearance": 0.16,
    "sill_bedded": 0.10,
    "sill_fixings_sealed": 0.06,
    "sill_joint_sealed": 0.06,
    "end_dams_sealed": 0.12,
    "packers_both_sides": 0.07,
    "fixings_snug": 0.06,
    "drainage_clear": 0.10,
    "hinge_screws_complete": 0.12,
    "rollers_seated": 0.08,
    "toe_and_heel": 0.09,
    "packs_bonded": 0.04,
    "beads_seated": 0.04,
    "handles_smooth": 0.05,
    "locks_operate": 0.06,
    "catch_engages": 0.05,
    "folds_freely": 0.06,
    "seals_continuous": 0.20,
    "track_clean": 0.18,
    "covers_replaced": 0.12,
}

# What an earlier deviation adds to a later one: {later: {earlier: units of the later for one unit of the earlier}}.
CHAIN = {
    "sill_bow": {"sill_bedded": 0.9},
    "frame_diagonal_difference": {"aperture_diagonal_difference": 0.10},
    "head_parallel_error": {"sill_level_error": 0.25, "head_bow": 2.0},
    "jamb_plumb_error": {"jamb_twist": 0.5},
    "threshold_gap_spread": {"sill_level_error": 0.30},
    "leaf_drop_rotation": {"jamb_plumb_error": 0.10, "hinge_screws_complete": 0.40},
    "leaf_drop_racking": {"toe_and_heel": 0.80},
    "leaf_diagonal_difference": {"leaf_drop_racking": 0.9},
    "seal_compression_spread": {"jamb_twist": 0.20},
}

AGES = (0.0, 30.0, 90.0, 365.0, 730.0)  # days; where the hazard steps


@dataclass(frozen=True)
class FaultWorld:
    """How one fault arises.

    weight      its share of the callbacks that fitting causes, before scaling
    pace        hazard by age of the door, relative, in the intervals that start at AGES
    effects     log hazard ratio for one unit of a deviation, directly (not through later deviations)
    mix         log hazard ratio for one standard unit of a trait of the door (see doors.traits)
    repeats     share of visits followed by another for the same fault within weeks
    hours, parts   typical labour of a visit and its material
    peak_day    day of the year at which a seasonal fault is worst
    """

    weight: float
    pace: tuple[float, float, float, float, float]
    effects: dict[str, float] = field(default_factory=dict)
    mix: dict[str, float] = field(default_factory=dict)
    repeats: float = 0.15
    hours: float = 1.5
    parts: float = 10.0
    peak_day: int | None = None


FAULTS = {
    "dropped_leaf": FaultWorld(
        1.35, (2.5, 2.0, 1.0, 0.8, 0.6),
        {"leaf_drop_racking": 1.1, "toe_and_heel": 2.1, "leaf_drop_rotation": 0.40, "jamb_plumb_error": 0.50},
        {"heavy": 0.30, "leaves": 0.15}, 0.25, 3.0, 8.0,
    ),
    "lock_misaligned": FaultWorld(
        1.35, (4.0, 2.0, 1.0, 0.7, 0.6),
        {"frame_diagonal_difference": 0.60, "seal_compression_spread": 1.0, "leaf_drop_racking": 0.30},
        {"dark": 0.20, "wide": 0.15}, 0.20, 1.0, 10.0,
    ),
    "water_ingress": FaultWorld(
        1.35, (3.0, 2.0, 1.0, 0.8, 0.7),
        {"sill_tilt_in": 0.52, "end_dams_sealed": 1.9, "seals_continuous": 1.0},
        {"severe": 0.70, "moderate": 0.30, "upper": -0.20}, 0.30, 6.0, 60.0, 345,
    ),
    "stiff_running": FaultWorld(
        1.25, (2.0, 1.5, 1.0, 0.8, 0.8),
        {"sill_level_error": 0.35, "head_parallel_error": 0.54, "track_clean": 1.6},
        {"heavy": 0.35, "wide": 0.20}, 0.20, 1.5, 25.0,
    ),
    "draught": FaultWorld(
        1.1, (2.0, 1.5, 1.0, 0.8, 0.7),
        {"seal_compression_low": -1.1, "seal_compression_spread": 0.50, "jamb_twist": 0.48},
        {"severe": 0.35, "moderate": 0.15, "upper": 0.20}, 0.18, 1.0, 15.0, 5,
    ),
    "binding": FaultWorld(
        1.0, (2.0, 2.0, 1.0, 0.7, 0.5),
        {"perimeter_gap_shortfall": 0.72, "unpackered_fixings": 6.5, "threshold_gap_spread": 0.45},
        {"dark": 0.40, "wide": 0.25}, 0.20, 1.5, 8.0, 200,
    ),
    "loose_frame": FaultWorld(
        0.75, (1.0, 1.3, 1.0, 0.9, 0.8),
        {"fixing_spacing": 0.0088, "fixing_corner_distance": -0.0135},
        {"replacement": 0.30, "wide": 0.20}, 0.10, 5.0, 15.0,
    ),
    "roller_damage": FaultWorld(
        0.45, (0.3, 0.6, 1.0, 1.6, 2.2), {"sill_bow": 0.85}, {"heavy": 0.45}, 0.10, 4.0, 80.0,
    ),
    "uneven_gaps": FaultWorld(
        0.45, (4.0, 2.0, 1.0, 0.5, 0.4), {"head_gap_spread": 0.46}, {"leaves": 0.20}, 0.10, 1.5, 0.0,
    ),
    "hinge_fault": FaultWorld(
        0.40, (1.0, 1.0, 1.0, 1.2, 1.4), {"hinge_packer_count": 0.45}, {"heavy": 0.40}, 0.12, 3.0, 35.0,
    ),
    "blocked_drainage": FaultWorld(
        0.30, (1.5, 1.2, 1.0, 1.0, 1.0), {"drainage_clear": 2.1}, {"severe": 0.3}, 0.15, 1.0, 5.0,
    ),
    "sealant_fault": FaultWorld(
        0.25, (0.5, 0.7, 1.0, 1.3, 1.5), {"seals_continuous": 1.7}, {"wide": 0.2}, 0.10, 3.0, 25.0,
    ),
    "surface_damage": FaultWorld(0.25, (12.0, 3.0, 0.5, 0.2, 0.1), {}, {"leaves": 0.2}, 0.10, 1.0, 20.0),
    "handle_fault": FaultWorld(0.20, (0.6, 0.8, 1.0, 1.4, 1.8), {}, {}, 0.08, 1.0, 60.0),
}  # fmt: skip
