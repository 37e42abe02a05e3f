"""Honest simulated crews are not doubted, planted cheats are found, and rounding is only rounding."""

from datetime import timedelta
from itertools import pairwise

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.demo.simulate import Firm
from pipeline.model.marts.record_credibility import TESTS
from tests.conftest import RECORD_COLUMNS

CREWS = 14
DOORS = 1400
OFFSETS = (
    "sill_height", "sill_line", "jamb_face", "jamb_edge", "head_gap", "threshold_gap", "side_gap", "perimeter_gap",
    "seal_compression",
)  # fmt: skip
PLACE = ["install_id", "measure", "member", "station"]


def records(firm: Firm, readings: pl.DataFrame | None = None) -> dict[str, pl.DataFrame]:
    """What run_model takes: the simulated records, each callback coded with its keyed fault."""
    tables = {**firm.records, "readings": firm.readings if readings is None else readings}
    return {
        name: tables[name].select(column for column in tables[name].columns if column in RECORD_COLUMNS[name])
        for name in ("installs", "readings", "callbacks", "crews", "instruments")
    }


@pytest.fixture(scope="module")
def firm() -> Firm:
    return simulate(doors=DOORS, crews=CREWS, seed=11, callbacks_per_door=0.9)


def verdicts(result, test: str) -> dict[str, str]:
    return {crew: verdict for crew, name, verdict in result.pick("crew", "test", "verdict") if name == test}


def of(crew: str, *measures: str) -> pl.Expr:
    return (pl.col("read_by") == crew) & (pl.col("measure").is_in(measures) if measures else True)


def copies(readings: pl.DataFrame, crew: str, rng: np.random.Generator) -> pl.DataFrame:
    """One door in five takes gaps and jambs from the door before, box by box."""
    own = of(crew, "jamb_face", "jamb_edge", "head_gap", "threshold_gap")
    doors = readings.filter(of(crew))["install_id"].unique(maintain_order=True).to_list()
    chosen = {new: old for old, new in pairwise(doors) if rng.random() < 0.2}
    ranked = readings.with_columns(pl.int_range(pl.len()).over(PLACE).alias("box"))
    old = ranked.filter(own).select(*PLACE, "box", copy="value")
    new = ranked.with_columns(
        source=pl.when(own).then(pl.col("install_id").replace_strict(chosen, default=None, return_dtype=pl.String))
    )
    joined = new.join(
        old, left_on=["source", *PLACE[1:], "box"], right_on=[*PLACE, "box"], how="left", nulls_equal=True,
        maintain_order="left",
    )  # fmt: skip
    return joined.with_columns(pl.coalesce("copy", "value").alias("value")).select(readings.columns)


def invents_digits(readings: pl.DataFrame, crew: str, rng: np.random.Generator) -> pl.DataFrame:
    """Whole millimetres are true, the tenth is what comes to mind: 3, 7 and 8 more often than the others."""
    chances = np.array([4, 8, 8, 20, 8, 4, 8, 20, 16, 4]) / 100
    tenths = pl.Series(rng.choice(10, readings.height, p=chances) / 10)
    invented = (pl.col("value").abs().floor() + tenths) * pl.col("value").sign()
    return with_value(readings, of(crew, *OFFSETS), invented.round(1))


def fills_boxes(readings: pl.DataFrame, crew: str, rng: np.random.Generator) -> pl.DataFrame:
    """On some doors the first reading of a member stands in all its boxes."""
    doors = readings["install_id"].unique(maintain_order=True)
    lazy = doors.filter(pl.Series(rng.random(len(doors)) < 0.3))
    first = pl.col("value").first().over("install_id", "measure", "member")
    return with_value(readings, of(crew, *OFFSETS) & pl.col("install_id").is_in(lazy.implode()), first)


def hardly_varies(readings: pl.DataFrame, crew: str, rng: np.random.Generator) -> pl.DataFrame:
    mean = pl.col("value").mean().over("install_id", "measure", "member")
    return with_value(readings, of(crew, *OFFSETS), (mean + 0.25 * (pl.col("value") - mean)).round(1))


def makes_up_diagonals(readings: pl.DataFrame, crew: str, rng: np.random.Generator) -> pl.DataFrame:
    error = pl.Series(np.round(rng.normal(0, 6, readings.height)))
    return with_value(readings, of(crew, "frame_diagonal", "aperture_diagonal"), pl.col("value") + error)


def with_value(readings: pl.DataFrame, rows: pl.Expr, value: pl.Expr) -> pl.DataFrame:
    return readings.with_columns(pl.when(rows).then(value).otherwise("value").alias("value"))


CHEATS = {
    "copied_doors": copies,
    "last_digits": invents_digits,
    "flat_boxes": fills_boxes,
    "little_spread": hardly_varies,
    "tape_misclosure": makes_up_diagonals,
}


@pytest.fixture(scope="module")
def cheated(firm) -> tuple[dict[str, str], pl.DataFrame]:
    """The crew that cheats in each way, and all readings."""
    rng = np.random.default_rng(5)
    names = firm.records["crews"]["crew"].to_list()
    readings, who = firm.readings, {}
    for (test, cheat), crew in zip(CHEATS.items(), names, strict=False):
        readings, who[test] = cheat(readings, crew, rng), crew
    late = names[len(CHEATS)]
    doors = firm.records["installs"].filter(pl.col("crew") == late)["install_id"].gather_every(4)
    is_late = of(late) & pl.col("install_id").is_in(doors.implode())
    # long before the survey: nobody can have stood there
    moved = pl.when(is_late).then(pl.col("read_on") - timedelta(days=700)).otherwise("read_on")
    who["impossible_days"] = late
    return who, drop_where_called(firm, readings.with_columns(moved.alias("read_on")), who, names[len(CHEATS) + 1])


def drop_where_called(firm, readings: pl.DataFrame, who: dict[str, str], crew: str) -> pl.DataFrame:
    """Jambs, gaps and seals of half the doors that came back are no longer there."""
    who["missing_where_called"] = crew
    called = firm.records["callbacks"].filter(pl.col("responsibility").is_in(["installation", "unknown"]))
    doors = called["install_id"].drop_nulls().unique().sort().gather_every(2)
    return readings.filter(~(of(crew, *OFFSETS) & pl.col("install_id").is_in(doors.implode())))


def test_planted_cheats_are_found_and_nobody_else_is_doubted(firm, cheated, run_model):
    who, readings = cheated
    result = run_model("record_credibility", **records(firm, readings))
    assert {test: verdicts(result, test)[crew] for test, crew in who.items()} == dict.fromkeys(who, "doubtful")
    assert set(who) == set(TESTS) - {"inside_limits"}  # which has a firm of its own below
    honest = [row for row in result.pick("crew", "verdict") if row[0] not in who.values()]
    assert len(honest) == (CREWS - len(who)) * len(TESTS)
    assert [row for row in honest if row[1] == "doubtful"] == []


def test_rounding_is_rounded_and_not_doubted(firm, run_model):
    names = firm.records["crews"]["crew"].to_list()
    readings = firm.readings
    for crew, step in zip(names, (0.5, 1.0, 5.0), strict=False):
        readings = with_value(readings, of(crew) & (pl.col("unit") == "mm"), (pl.col("value") / step).round() * step)
    # and one that rounds every second time only
    often = pl.Series(np.random.default_rng(1).random(readings.height) < 0.5)
    readings = with_value(readings, of(names[3], *OFFSETS) & pl.lit(often), pl.col("value").round())
    result = run_model("record_credibility", **records(firm, readings))
    assert [verdicts(result, "last_digits")[crew] for crew in names[:4]] == ["rounded"] * 4
    assert {verdicts(result, "last_digits")[crew] for crew in names[4:]} == {"plausible"}
    assert [row for row in result if row[-1] == "doubtful"] == []


@pytest.mark.parametrize("seed", [1, 2])
def test_honest_crews_are_left_alone(run_model, seed):
    result = run_model("record_credibility", **records(simulate(doors=1000, crews=10, seed=seed)))
    assert len(result) == 10 * len(TESTS)
    assert "doubtful" not in result.pick("verdict")


def test_a_tape_that_always_misses_by_as_much_is_no_blunder(firm, run_model):
    crew = firm.records["crews"]["crew"][0]
    lengths = (f"{what}_{side}" for what in ("frame", "aperture") for side in ("width", "height", "diagonal"))
    stretched = with_value(firm.readings, of(crew, *lengths), pl.col("value") + 2)
    result = run_model("record_credibility", **records(firm, stretched))
    assert verdicts(result, "tape_misclosure")[crew] == "plausible"


def test_where_no_opening_closes_no_crew_is_doubted_for_it(firm, run_model):
    """Rough openings, measured beside their corners, crews with more or less of them: no quadrilateral, no blunder."""
    rng = np.random.default_rng(5)
    crews = firm.records["crews"]["crew"].to_list()
    rough = pl.col("read_by").replace_strict(crews, np.linspace(3.0, 9.0, len(crews)), default=0.0)
    sizes = ("frame_width", "frame_height", "aperture_width", "aperture_height")
    off = pl.Series(rng.normal(0, 1, len(firm.readings))) * rough
    read = firm.readings.with_columns(
        pl.when(pl.col("measure").is_in(sizes)).then((pl.col("value") + off).round(0)).otherwise("value").alias("value")
    )
    found = verdicts(run_model("record_credibility", **records(firm, read)), "tape_misclosure")
    assert set(found.values()) == {"too_few"}


@pytest.mark.slow
def test_at_most_one_honest_crew_in_twenty_is_doubted(run_model):
    kinds = ({"crews": 10, "doors": 1000}, {"crews": 24, "doors": 2400}, {"crews": 6, "doors": 900, "careless_sd": 0.4})
    doubted, crews = set(), 0
    for seed in range(1, 9):
        for kind in kinds:
            result = run_model("record_credibility", **records(simulate(seed=seed, **kind)))
            doubted |= {
                (seed, kind["crews"], crew) for crew, verdict in result.pick("crew", "verdict") if verdict == "doubtful"
            }
            crews += kind["crews"]
    assert len(doubted) <= 0.05 * crews


def test_a_firm_of_a_few_doors_is_too_few_and_none_is_judged(run_model):
    result = run_model("record_credibility", **records(simulate(doors=20, crews=2, seed=3)))
    assert set(result.pick("verdict")) == {"too_few"}
    assert result.pick("p_value") == [None] * 2 * len(TESTS)


def test_the_same_records_give_the_same_p_values(run_model):
    given = records(simulate(doors=200, crews=2, seed=4))
    assert run_model("record_credibility", **given) == run_model("record_credibility", **given)


def test_a_crew_whose_sills_alone_are_flat_is_found(firm, run_model):
    crew = firm.records["crews"]["crew"][1]
    doors = firm.readings["install_id"].unique(maintain_order=True)
    lazy = doors.filter(pl.Series(np.random.default_rng(2).random(len(doors)) < 0.3))
    first = pl.col("value").first().over("install_id", "measure", "member")
    flat = with_value(firm.readings, of(crew, "sill_height") & pl.col("install_id").is_in(lazy.implode()), first)
    found = verdicts(run_model("record_credibility", **records(firm, flat)), "flat_boxes")
    assert {name for name, verdict in found.items() if verdict == "doubtful"} == {crew}


def test_a_crew_that_writes_what_is_out_just_inside_its_limit_is_found(run_model):
    firm = simulate(doors=2800, crews=14, seed=13, heaped=0.95)
    (habit,) = firm.habits
    found = verdicts(run_model("record_credibility", **records(firm)), "inside_limits")
    assert {name for name, verdict in found.items() if verdict == "doubtful"} == {habit.crew}


def test_a_crew_that_rounds_is_not_doubted_for_values_on_a_limit(run_model):
    firm = simulate(doors=1400, crews=14, seed=14, rounds=True)
    (habit,) = firm.habits
    result = run_model("record_credibility", **records(firm))
    assert verdicts(result, "inside_limits")[habit.crew] == "too_few"
    assert [row for row in result if row[-1] == "doubtful"] == []
