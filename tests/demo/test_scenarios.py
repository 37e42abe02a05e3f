"""Each scenario of the calibration study is what its name says, and the truths kept beside it are true."""

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.demo.hazards import log_risk
from pipeline.demo.next_year import next_year
from pipeline.demo.rereading import WORSE
from pipeline.demo.scenarios import SCENARIOS, scenario_firm
from pipeline.demo.simulate import Firm
from pipeline.demo.true_ratios import true_crew_ratios
from pipeline.demo.true_shares import UNEXPLAINED, true_shares
from pipeline.demo.true_training import true_training_ratios
from pipeline.demo.world import FAULTS


def of_crew(firm: Firm, kind: str) -> pl.DataFrame:
    """The readings of the crew with that habit."""
    (crew,) = [habit.crew for habit in firm.habits if habit.kind == kind]
    return firm.readings.filter(pl.col("read_by") == crew)


@pytest.fixture(scope="module")
def dishonest() -> Firm:
    return simulate(doors=1500, crews=6, seed=31, copied=0.3, flat=0.4, heaped=1.0, rounds=True, recorded=1.0)


def test_there_are_fifteen_and_each_switches_something_on() -> None:
    assert len(SCENARIOS) == 15
    assert [name for name, fields in SCENARIOS.items() if not fields] == ["plain"]
    assert scenario_firm("6 crews", 3).scenario.crews == 6


def test_effects_differ_between_crews_around_the_planted_one() -> None:
    firm = simulate(doors=3000, crews=60, seed=5, effects_differ=0.3)
    effect = FAULTS["roller_damage"].effects["sill_bow"]
    traits = sum(effect * firm.doors.traits[trait] for trait, effect in FAULTS["roller_damage"].mix.items())
    own = (log_risk("roller_damage", firm.doors, firm.true, firm.scenario) - traits) / (
        firm.true["sill_bow"] - firm.true["sill_bow"].mean()
    )
    by_crew = np.array([own[firm.doors.crew == crew].mean() for crew in range(60)])
    assert by_crew.mean() == pytest.approx(effect, abs=4 * 0.3 * effect / 60**0.5)
    assert by_crew.std() == pytest.approx(0.3 * effect, rel=0.35)


def test_sloppy_crews_are_careless_in_what_nothing_records() -> None:
    def correlation(frailty_of_careless: float) -> float:
        crews = simulate(doors=60, crews=60, seed=4, frailty_of_careless=frailty_of_careless).crews
        return float(np.corrcoef(crews.general, crews.frailty)[0, 1])

    assert correlation(1.0) > 0.8
    assert abs(correlation(0.0)) < 0.4


def test_failed_checks_are_left_out_by_all_but_the_first_crew() -> None:
    full, gaps = (simulate(doors=800, crews=4, seed=2, leaves_out_failed=share) for share in (0.0, 0.6))
    first = set(full.doors.installs.filter(full.doors.installs["crew"] == full.crews.names[0])["install_id"])

    def failed(firm: Firm, is_first: bool) -> int:
        rows = firm.records["checks"].filter(pl.col("outcome") == "fail").select("install_id", "check").unique()
        return rows.filter(pl.col("install_id").is_in(first) == is_first).height

    assert failed(gaps, is_first=False) == pytest.approx(0.4 * failed(full, is_first=False), rel=0.1)
    assert failed(gaps, is_first=True) > 0.8 * failed(full, is_first=True)


def test_doors_are_read_again_after_a_callback_and_are_worse_then() -> None:
    plain, again = (simulate(doors=600, crews=4, seed=7, reread=share, noise=0.0) for share in (0.0, 0.7))
    place = ["install_id", "measure", "member", "station", "position_mm"]
    later = again.readings.filter(~pl.struct(again.readings.columns).is_in(plain.readings.to_struct().implode()))
    assert again.readings.height == plain.readings.height + later.height
    callbacks = again.records["callbacks"]
    assert set(later.select("install_id", "read_on").iter_rows()) <= set(
        callbacks.select("install_id", "visited_on").iter_rows()
    )
    head = pl.concat(
        [table.filter(pl.col("measure") == "clear_height").select(*place, "value").with_columns(when=pl.lit(when))
         for table, when in ((plain.readings, "fitted"), (later, "later"))]
    )  # fmt: skip
    spread = head.group_by("install_id", "when").agg(pl.col("value").max() - pl.col("value").min())
    both = spread.pivot("when", index="install_id", values="value").drop_nulls()
    assert both.height > 100
    assert (both["later"] / both["fitted"]).median() == pytest.approx(WORSE, rel=0.05)


def test_one_crew_copies_jambs_of_the_door_before(dishonest: Firm) -> None:
    def repeated(rows: pl.DataFrame) -> float:
        jambs = rows.filter(pl.col("measure") == "jamb_face").group_by("install_id", maintain_order=True)
        doors = jambs.agg(pl.col("value").sort_by("member", "position_mm").alias("sheet"))
        return float((doors["sheet"] == doors["sheet"].shift()).mean() or 0.0)

    assert repeated(of_crew(dishonest, "copied")) == pytest.approx(0.3, abs=0.1)
    assert repeated(of_crew(dishonest, "flat")) == 0.0


def test_one_crew_writes_sills_of_one_height(dishonest: Firm) -> None:
    def flat(rows: pl.DataFrame) -> float:
        sills = rows.filter(pl.col("measure") == "sill_height").group_by("install_id")
        return float(sills.agg(pl.col("value").n_unique() == 1)["value"].mean() or 0.0)

    assert flat(of_crew(dishonest, "flat")) == pytest.approx(0.4, abs=0.1)
    assert flat(of_crew(dishonest, "copied")) < 0.02


def test_one_crew_writes_what_is_out_just_inside_the_limit(dishonest: Firm) -> None:
    def ranges(rows: pl.DataFrame) -> pl.Series:
        heads = rows.filter(pl.col("measure") == "clear_height").group_by("install_id")
        return heads.agg((pl.col("value").max() - pl.col("value").min()).round(3))["value"]

    heaped, others = ranges(of_crew(dishonest, "heaped")), ranges(of_crew(dishonest, "flat"))
    assert (heaped > 3.2).mean() < 0.02
    assert (others > 3.2).mean() > 0.1
    inside = pl.Series(heaped).is_between(2.5, 3.0).mean()
    assert inside > 2 * pl.Series(others).is_between(2.5, 3.0).mean()


def test_one_crew_rounds_and_is_not_dishonest(dishonest: Firm) -> None:
    lengths = of_crew(dishonest, "rounded").filter(pl.col("unit") == "mm")["value"]
    assert (lengths == lengths.round()).all()


def test_paper_takes_as_long_as_said() -> None:
    slow = simulate(doors=2000, crews=4, seed=3, paper_days=30.0, late_paper=True).records["callbacks"]
    lag = (slow["logged_on"] - slow["reported_on"]).dt.total_days()
    assert lag.mean() == pytest.approx(29.0, rel=0.1)
    assert slow["logged_on"].max() <= simulate(doors=10, crews=2, seed=3).scenario.ends_on


def test_the_next_year_goes_on_as_the_record_did() -> None:
    """Doors in their second year: what they report then is the same before and after the last day."""
    firm = simulate(doors=60_000, crews=10, seed=6, growth=0.0, years=3.0, removed_a_year=0.0)
    started, last = firm.doors.started_day, firm.scenario.days
    numbers = firm.doors.installs.select("install_id").with_row_index("door")
    day = (pl.col("reported_on") - firm.scenario.ends_on).dt.total_days()
    before = firm.records["callbacks"].join(numbers, on="install_id").with_columns(day=day)
    after = next_year(firm).join(numbers, on="install_id")

    def rate(rows: pl.DataFrame, since: int) -> float:
        is_second_year = (started > since - 365) & (started <= since)
        seen = rows.filter(pl.col("day").is_between(since - last + 1, since - last + 365))
        return float(is_second_year[seen["door"].to_numpy()].sum() / is_second_year.sum())

    assert rate(after, last) == pytest.approx(rate(before, last - 365), rel=0.05)
    assert after["day"].is_between(1, 365).all()
    assert set(after["fault"]) >= {"dropped_leaf", "no_fault", "failed_unit"}


def test_crews_that_do_not_differ_truly_compare_as_one() -> None:
    alike = simulate(doors=6000, crews=6, seed=8, careless_sd=0.0, weak_factor=1.0, crew_frailty=0.0)
    found = true_crew_ratios(alike)
    assert found["lasting_ratio"].to_list() == pytest.approx([1.0] * 6, abs=0.06)
    assert found["true_ratio"].to_list() == pytest.approx([1.0] * 6, abs=0.15)


def test_crews_that_differ_in_nothing_recorded_truly_compare_as_they_are_frail() -> None:
    frail = simulate(doors=6000, crews=6, seed=9, effect_scale=0.0, crew_frailty=0.5)
    expected = np.exp(frail.crews.frailty)
    # reports of one fault that follow another of the same door mostly do not come, so the worst are a little nearer
    for ratio in true_crew_ratios(frail).select("true_ratio", "lasting_ratio").iter_columns():
        assert (ratio / ratio.mean()).to_numpy() == pytest.approx(expected / expected.mean(), rel=0.1)


def test_training_does_what_it_does_to_carelessness() -> None:
    firm = simulate(doors=6000, crews=6, seed=10, trainings=2, training_factor=0.5, weak_factor=1.0)
    found = true_training_ratios(firm)
    assert set(found["outcome"]) == {"out_share", "callbacks"}
    assert found.filter(pl.col("outcome") == "out_share")["true_ratio"].is_between(0.2, 0.8).all()
    assert found["true_ratio"].max() < 1.05
    nothing = true_training_ratios(simulate(doors=6000, crews=6, seed=10, trainings=2, training_factor=1.0))
    assert nothing.height >= 3
    assert nothing["true_ratio"].is_between(0.92, 1.08).all()


def test_shares_of_a_callback_are_what_its_door_adds_and_sum_to_one() -> None:
    firm = simulate(doors=3000, crews=6, seed=11)
    shares = true_shares(firm)
    assert shares.group_by("callback_id").agg(pl.col("true_share").sum())["true_share"].to_numpy() == pytest.approx(1.0)
    calls = firm.records["callbacks"].filter(pl.col("fault") == "roller_damage")
    told = shares.join(calls, on="callback_id").filter(pl.col("deviation") == UNEXPLAINED)
    # one chain only: a sill that is not bedded bows; what is left is exp of less of both together
    doors = dict(zip(firm.doors.installs["install_id"], range(3000), strict=True))
    rows = [doors[door] for door in told["install_id"]]
    bow, bedded = firm.true["sill_bow"], firm.true["sill_bedded"]
    beyond = np.maximum(bow - np.quantile(bow, 0.1), 0)
    own = np.maximum(beyond - 0.9 * bedded, 0) + 0.9 * bedded
    assert told["true_share"].to_numpy() == pytest.approx(np.exp(-0.85 * own[rows]))
