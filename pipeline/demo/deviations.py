"""The true deviations of every door: drawn per crew and step, early steps adding to later ones."""

import numpy as np

from pipeline.catalogue.rows import Catalogue
from pipeline.demo.arrays import Floats
from pipeline.demo.crews import Crews
from pipeline.demo.doors import Doors
from pipeline.demo.fixing_plan import plan_fixings
from pipeline.demo.scenario import Scenario
from pipeline.demo.world import CHAIN, CHECK_RATES, SOURCES, Source

LONGEST_TAIL = 3.5  # times the typical part
# By geometry the second is never less than what the first makes of it, so the first is drawn before it.
HELD = (
    ("head_bow", "head_parallel_error"),
    ("jamb_twist", "jamb_plumb_error"),
    ("leaf_drop_rotation", "side_gap_taper"),
)


def drawn_order(catalogue: Catalogue) -> list[str]:
    """All simulated deviations in causal order: by step, checks first, then acts, then geometry."""
    steps = {step: number for number, step in enumerate(catalogue.steps)}
    rows = [row for row in catalogue.deviations if row.name in SOURCES or row.name in CHECK_RATES]
    rank = {"checks": 0, "act": 1, "geometry": 2}
    rows.sort(key=lambda row: (steps[row.step], rank["checks" if row.how == "checks" else row.kind]))
    names = [row.name for row in rows]
    for part, whole in HELD:
        names.remove(part)
        names.insert(names.index(whole), part)
    return names


def draw_deviations(
    doors: Doors, crews: Crews, scenario: Scenario, catalogue: Catalogue, rng: np.random.Generator
) -> dict[str, Floats]:
    """The true value of every simulated deviation and check (share failed), one array per name, one value a door."""
    steps = {step: number for number, step in enumerate(catalogue.steps)}
    width = doors.column("width_mm")
    true: dict[str, Floats] = {}
    for name in drawn_order(catalogue):
        careless = crews.careless_at(doors.crew, doors.fitted_day, steps[catalogue.deviation(name).step])
        if name in CHECK_RATES:
            per_leaf = any(check.per_leaf for check in catalogue.checks if check.name == name)
            true[name] = _share_failed(CHECK_RATES[name] * careless, doors.column("leaves"), per_leaf, rng)
            continue
        value = _own_part(SOURCES[name], careless, width, rng)
        for earlier, passed_on in CHAIN.get(name, {}).items():
            scale = 1.0 if (earlier, name) in HELD else scenario.effect_scale
            value = value + scale * passed_on * true[earlier]
        value = value.clip(SOURCES[name].low, SOURCES[name].high)
        true[name] = _possible(name, value, true, doors, rng)
    return true


def _own_part(source: Source, careless: Floats, width: Floats, rng: np.random.Generator) -> Floats:
    tail = np.minimum(rng.gamma(source.shape, 1.0 / source.shape, len(careless)), LONGEST_TAIL)
    wide = (width / 3600.0) ** source.wide_power
    if source.chance < 1.0:
        has = rng.random(len(careless)) < np.minimum(source.chance * careless, 0.95)
        return source.base + source.sign * has * source.typical * tail * wide
    return source.base + source.sign * careless * source.typical * tail * wide


def _share_failed(rate: Floats, leaves: Floats, per_leaf: bool, rng: np.random.Generator) -> Floats:
    if not per_leaf:
        return (rng.random(len(rate)) < np.minimum(rate, 0.95)).astype(np.float64)
    # leaves of one door fail together more often than by chance
    rate = rate * rng.gamma(0.5, 2.0, len(rate))
    return rng.binomial(leaves.astype(np.int64), np.minimum(rate, 0.95)) / leaves


def _possible(name: str, value: Floats, true: dict[str, Floats], doors: Doors, rng: np.random.Generator) -> Floats:
    """What counting and geometry allow: whole packers, whole fixings, drops that the gaps can hold."""
    width, height = doors.column("width_mm"), doors.column("height_mm")
    if name == "hinge_packer_count":
        return np.round(value)
    if name == "unpackered_fixings":
        fixings = plan_fixings(width, height, true).count[:, :2].sum(axis=1)
        return rng.binomial(fixings, value) / fixings
    if name in ("leaf_drop_rotation", "leaf_drop_racking"):
        turned = true.get("leaf_drop_rotation", np.zeros(len(value)))
        return np.minimum(value, (true["head_gap_spread"] + true["threshold_gap_spread"]) / 2 - turned)
    if name == "side_gap_taper":
        return np.maximum(value, true["leaf_drop_rotation"] * height / (width / doors.column("leaves")))
    return value
