"""Makes one invented firm: doors, crews, true deviations, callbacks, readings, and the truth about it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from pipeline.catalogue.reader import load_catalogue
from pipeline.catalogue.rows import Catalogue
from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.callbacks import callbacks_record
from pipeline.demo.checks import checks_record
from pipeline.demo.crews import Crews, crews_record, draw_crews, training_record
from pipeline.demo.deviations import draw_deviations
from pipeline.demo.dishonesty import Habit, habits, with_habits
from pipeline.demo.doors import Doors, draw_doors
from pipeline.demo.gaps import recommended_gaps
from pipeline.demo.hazards import Events, door_frailty, fault_events
from pipeline.demo.part import Part
from pipeline.demo.readings import instruments_record, readings_of
from pipeline.demo.rereading import doors_read_again, readings_again
from pipeline.demo.scenario import Scenario
from pipeline.demo.truth import true_carelessness, true_effects

DOORS_A_PART = 4000


@dataclass(frozen=True)
class Firm:
    """A simulated firm.

    records        canonical records by name, all but `readings`, which come in parts
    frailty        log of what nothing recorded explains, per door
    events         reports that fitting caused, by fault, whether or not they are on record
    habits         who is dishonest in what, or rounds
    true           deviation to its true value per door (checks: share failed), in the order of the installs
    truth          fault, deviation, per, log_ratio (total effect of `per` more), log_ratio_per_sd, is_cause, is_planted
    carelessness   crew, step, carelessness, is_weak
    """

    scenario: Scenario
    catalogue: Catalogue
    doors: Doors
    crews: Crews
    true: dict[str, Floats]
    frailty: Floats
    events: dict[str, Events]
    habits: tuple[Habit, ...]
    records: dict[str, pl.DataFrame]
    truth: pl.DataFrame
    carelessness: pl.DataFrame

    @property
    def readings(self) -> pl.DataFrame:
        """The record `readings` in one frame."""
        return pl.concat(self.reading_parts())

    def reading_parts(self) -> Iterator[pl.DataFrame]:
        """The record `readings`, some thousand doors at a time, in order of the installs; last what is read later."""
        starts = range(0, self.scenario.doors, DOORS_A_PART)
        seeds = np.random.SeedSequence([self.scenario.seed, 5]).spawn(len(starts))
        for start, seed in zip(starts, seeds, strict=True):
            part = self._part(slice(start, start + DOORS_A_PART))
            yield with_habits(readings_of(part, self.doors, self.scenario, seed), part, self.doors, self.habits)
        if self.scenario.reread:
            rows, day = doors_read_again(self.records["callbacks"], self.doors, self.scenario)
            yield readings_again(self._part(rows), day, self.doors, self.scenario)

    def _part(self, rows: slice | Ints) -> Part:
        return Part(
            number=np.arange(self.scenario.doors)[rows],
            width=self.doors.column("width_mm")[rows],
            height=self.doors.column("height_mm")[rows],
            leaves=self.doors.column("leaves")[rows].astype(np.int64),
            leaf_weight=self.doors.column("leaf_weight_kg")[rows],
            gap_mm=recommended_gaps(self.doors.installs[rows], self.catalogue),
            true={name: values[rows] for name, values in self.true.items()},
        )


def simulate(doors: int = 4000, crews: int = 24, seed: int = 1, **other: Any) -> Firm:
    """A firm of that many doors and crews; `other` are fields of Scenario. The same arguments give the same firm."""
    scenario = Scenario(doors=doors, crews=crews, seed=seed, **other)
    catalogue = load_catalogue()
    rng = np.random.default_rng([scenario.seed, 1])
    people = draw_crews(scenario, len(catalogue.steps), rng)
    fitted = draw_doors(scenario, people, rng)
    true = draw_deviations(fitted, people, scenario, catalogue, rng)
    frailty = door_frailty(fitted, people, scenario, rng)
    events = fault_events(fitted, frailty, true, scenario, rng)
    records = {
        "installs": fitted.installs,
        "checks": checks_record(fitted, true, catalogue, scenario, rng),
        "callbacks": callbacks_record(fitted, events, scenario, rng),
        "crews": crews_record(people, scenario),
        "training": training_record(people, catalogue.steps, scenario),
        "instruments": instruments_record(scenario),
    }
    faults = records["callbacks"]["fault"].unique().sort().to_list()
    truth = true_effects(catalogue, true, faults, scenario)
    careless = true_carelessness(people, catalogue.steps)
    about = habits(scenario, people.names)
    return Firm(scenario, catalogue, fitted, people, true, frailty, events, about, records, truth, careless)
