"""Every reading and check of a door, in the order of the work. The one place that says what is read where."""

from dataclasses import dataclass
from datetime import date

from pipeline.catalogue.rows import Catalogue
from pipeline.sheets.cautions import CAUTIONS
from pipeline.sheets.door import Door, across, sill_stations, spread_over
from pipeline.sheets.fixings import FARTHEST_CORNER, MOST_APART, NEAREST_CORNER, SOURCE, fixing_plan
from pipeline.sheets.groups import Place, Reading, Rule, Seen, Step
from pipeline.sheets.limits import DoorLimit, gap_words, least_gap, limits_of

JAMBS = ("left_jamb", "right_jamb")
HINGES = ("1", "2", "3")
# What a measure's limits stand on, where the deviation does not name the measure itself.
MADE_OF = {
    "sill_tilt": ("sill_tilt_in",),
    "jamb_face": ("jamb_plumb_error", "jamb_twist"),
    "jamb_edge": ("jamb_plumb_error",),
    "frame_diagonal": ("frame_racking",),
    "perimeter_gap": (),
    "threshold_gap": ("leaf_drop_rotation", "leaf_drop_racking"),
}
# How a limit can be held against cells, by how its deviation is made of readings.
HELD_AS = {
    "spread": "spread",
    "level": "level",
    "difference": "difference",
    "step": "step",
    **dict.fromkeys(("value", "min", "max"), "each"),
}
JAMB_PLUMB = "jamb_plumb_error"
PLACES_OF_OWN = {
    "difference": 2,
    "value": 1,
    "min": 1,
    "max": 1,
    "mean": 1,
}  # how many times a firm's own is read; else 3


@dataclass(frozen=True)
class _Ground:
    """What every part of the plan needs."""

    door: Door
    catalogue: Catalogue
    today: date

    def reading(self, measure: str, where: str, places: list[Place]) -> Reading:
        """A reading with its words, unit, limits and rule from the catalogue."""
        row = next(row for row in self.catalogue.measures if row.name == measure)
        limits = limits_of(self._deviations(measure), self.door, self.catalogue, self.today)
        return Reading(measure, row.words, where, row.unit, tuple(places), limits, self._rule(measure, limits))

    def _deviations(self, measure: str) -> tuple[str, ...]:
        direct = [row.name for row in self.catalogue.deviations if row.measure == measure]
        return tuple(dict.fromkeys([*direct, *MADE_OF.get(measure, ())]))

    def _rule(self, measure: str, limits: tuple[DoorLimit, ...]) -> Rule | None:
        """The first limit that cells can be held against."""
        if measure == "sill_tilt":
            return Rule("each", low=0.0)
        for limit in limits:
            row = self.catalogue.deviation(limit.deviation)
            how = "level" if row.name == JAMB_PLUMB else HELD_AS.get(row.how) if row.measure == measure else None
            if how and (limit.low is not None or limit.high is not None):
                return Rule(how, limit.low if how == "each" else None, limit.high)
        return None


def steps_of(door: Door, catalogue: Catalogue, today: date) -> tuple[Step, ...]:
    """The steps of the work with what is read and seen in each, the firm's own measures and checks included."""
    ground = _Ground(door, catalogue, today)
    made = {
        "survey": _survey(ground),
        "sill": _sill(ground),
        "frame": _frame(ground),
        "hanging": _hanging(ground),
        "glazing": _glazing(ground),
        "adjustment": _adjustment(ground),
    }
    return tuple(
        Step(name, (*made.get(name, ()), *_own(ground, name)), _checks(ground, name), CAUTIONS.get(name, ""))
        for name in catalogue.steps
    )


def _survey(ground: _Ground) -> tuple[Reading, ...]:
    door = ground.door
    widths = [Place(position=at) for at in across(door.height)]
    heights = [Place(position=at) for at in across(door.width)]
    return (
        ground.reading("aperture_width", "Tape, jamb to jamb; heights over the sill in mm.", widths),
        ground.reading("aperture_height", "Tape, sill to lintel; mm from the left.", heights),
        ground.reading("aperture_diagonal", "One tape for both.", _diagonals()),
    )


def _sill(ground: _Ground) -> tuple[Reading, ...]:
    door = ground.door
    stations = sill_stations(door)
    line = [Place("sill", position=at) for at in spread_over(door.width, 5)]
    tilt = [Place("sill", position=at) for at in spread_over(door.width, 3)]
    return (
        ground.reading(
            "sill_height",
            "Laser and staff: height over one datum, higher is more. Both ends, every joint of leaves, no more than "
            "750 mm apart; mm from the left.",
            [Place("sill", position=at) for at in stations],
        ),
        ground.reading("sill_line", "String along the sill: offset in plan, + to the outside.", line),
        ground.reading("sill_tilt", "Short level across the sill: fall over its depth, + to the outside.", tilt),
        _fixings(ground, ("sill",)),
    )


def _frame(ground: _Ground) -> tuple[Reading, ...]:
    door = ground.door
    jambs = [Place(jamb, position=at) for jamb in JAMBS for at in spread_over(door.height, 3)]
    plumb = "Plumb line or laser: distance from it, top, middle, foot; mm over the sill."
    return (
        ground.reading("frame_width", "Tape, at the sill and at the head.", [Place("sill"), Place("head")]),
        ground.reading("frame_height", "Tape, at both jambs.", [Place(jamb) for jamb in JAMBS]),
        ground.reading("frame_diagonal", "One tape for both.", _diagonals()),
        ground.reading("jamb_edge", f"In the plane of the door, + to the right seen from inside. {plumb}", jambs),
        ground.reading("jamb_face", f"Across the door, + to the outside. {plumb}", jambs),
        ground.reading(
            "clear_height",
            "Sill to head; mm from the left. A head that comes down later is the building: ask an engineer.",
            [Place("head", position=at) for at in spread_over(door.width, max(5, door.leaves + 1))],
        ),
        _fixings(ground, (*JAMBS, "head")),
        _packers(ground),
        _gaps(ground),
    )


def _fixings(ground: _Ground, members: tuple[str, ...]) -> Reading:
    plans = [plan for plan in fixing_plan(ground.door) if plan.member in members]
    places = [
        Place(plan.member, str(number), planned=at)
        for plan in plans
        for number, at in enumerate(plan.positions, start=1)
    ]
    where = (
        f"Plan in grey: at most {MOST_APART} mm apart, the outer ones {NEAREST_CORNER} to {FARTHEST_CORNER} mm from "
        "the corners, two a side at least. Write where each is, mm from the left or lower end."
    )
    row = ground.reading("fixing", where, places)
    names = ("sill_fixing_spacing",) if members == ("sill",) else ("fixing_spacing",)
    limits = limits_of((*names, "fixing_corner_distance"), ground.door, ground.catalogue, ground.today)
    spacing = next((limit.high for limit in limits if limit.deviation == names[0]), None)
    rule = None if spacing is None else Rule("step", high=spacing)
    note = f"Plan: {SOURCE}."
    return Reading(row.measure, _fixing_words(members), where, row.unit, row.places, limits, rule, note)


def _fixing_words(members: tuple[str, ...]) -> str:
    return "fixings of the sill" if members == ("sill",) else "fixings of jambs and head"


def _packers(ground: _Ground) -> Reading:
    plans = [plan for plan in fixing_plan(ground.door) if plan.member in JAMBS]
    places = [
        Place(plan.member, str(number), planned=at) for plan in plans for number, at in enumerate(plan.packers, start=1)
    ]
    row = ground.reading("packer", "One on both sides of every fixing, within 100 mm of it; mm from the foot.", places)
    limits = limits_of(("unpackered_fixings",), ground.door, ground.catalogue, ground.today)
    return Reading(row.measure, "packers of the jambs", row.where, row.unit, row.places, _packed(limits))


def _packed(limits: tuple[DoorLimit, ...]) -> tuple[DoorLimit, ...]:
    return tuple(DoorLimit(one.deviation, None, None, "no fixing without both packers", one.source) for one in limits)


def _gaps(ground: _Ground) -> Reading:
    door = ground.door
    lengths = {"left_jamb": door.height, "right_jamb": door.height, "head": door.width, "sill": door.width}
    places = [
        Place(member, position=at) for member, length in lengths.items() for at in spread_over(length, 2, length // 4)
    ]
    row = ground.reading("perimeter_gap", "Gauge, frame to wall; mm along the member.", places)
    limits = limits_of(("perimeter_gap_shortfall",), door, ground.catalogue, ground.today)
    named = tuple(DoorLimit(one.deviation, None, None, gap_words(door, ground.catalogue), one.source) for one in limits)
    return Reading(
        row.measure, row.words, row.where, row.unit, row.places, named,
        Rule("each", low=least_gap(door, ground.catalogue)),
    )  # fmt: skip


def _hanging(ground: _Ground) -> tuple[Reading, ...]:
    leaves = ground.door.leaf_names
    ends = [Place(leaf, station) for leaf in leaves for station in ("hinge", "lock")]
    sides = [Place(leaf, station) for leaf in leaves for station in ("top", "bottom")]
    hinges = [Place(leaf, number) for leaf in leaves for number in HINGES]
    return (
        ground.reading("head_gap", "Gauge over the leaf, at its hinge and its lock end.", ends),
        ground.reading("threshold_gap", "Gauge under the leaf, at its hinge and its lock end.", ends),
        ground.reading("side_gap", "Gauge beside the hinge stile, top and bottom.", sides),
        ground.reading("hinge_packers", "Count the 1 mm packers behind each hinge, from the top.", hinges),
    )


def _glazing(ground: _Ground) -> tuple[Reading, ...]:
    leaves = [Place(leaf, station) for leaf in ground.door.leaf_names for station in ("rising", "falling")]
    return (ground.reading("leaf_diagonal", "One tape for both, after packing the glass.", leaves),)


def _adjustment(ground: _Ground) -> tuple[Reading, ...]:
    leaves = ground.door.leaf_names
    seals = [Place(leaf, number) for leaf in leaves for number in ("1", "2", "3")]
    return (
        ground.reading("seal_compression", "Foot, middle, top of each leaf; a quarter turn of a cam is 1 mm.", seals),
        ground.reading("running_force", "Spring balance, pulled steadily.", [Place(leaf) for leaf in leaves]),
        ground.reading("temperature", "Thermometer, in the shade, at the time of the readings.", [Place()]),
    )


def _diagonals() -> list[Place]:
    return [Place(station="rising"), Place(station="falling")]


def _own(ground: _Ground, step: str) -> tuple[Reading, ...]:
    """The firm's own measures in the step of their first deviation; without one, in adjustment."""
    rows = [row for row in ground.catalogue.measures if row.is_own]
    first = {row.measure: row for row in reversed(ground.catalogue.deviations) if row.measure}
    in_step = [row for row in rows if (first[row.name].step if row.name in first else "adjustment") == step]
    times = [PLACES_OF_OWN.get(first[row.name].how, 3) if row.name in first else 1 for row in in_step]
    return tuple(
        ground.reading(row.name, "The firm's own reading.", [Place(station=str(n + 1)) for n in range(count)])
        for row, count in zip(in_step, times, strict=True)
    )


def _checks(ground: _Ground, step: str) -> tuple[Seen, ...]:
    once: tuple[str | None, ...] = (None,)
    return tuple(
        Seen(
            row.name, row.words or f"not {row.name.replace('_', ' ')}", ground.door.leaf_names if row.per_leaf else once
        )
        for row in ground.catalogue.checks
        if row.step == step
    )
