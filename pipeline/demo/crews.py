"""Crews: how careless each is in each step, when it joined, what it was trained in."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.scenario import Scenario

TREES = (
    "Alder", "Ash", "Beech", "Birch", "Cedar", "Cherry", "Elm", "Fir", "Hazel", "Holly", "Juniper", "Larch", "Lime",
    "Maple", "Oak", "Olive", "Pine", "Plane", "Poplar", "Rowan", "Spruce", "Walnut", "Willow", "Yew",
)  # fmt: skip


@dataclass(frozen=True)
class Crews:
    """carelessness: (crews, steps), mean 1 before weak crews are planted; weak: (steps,) the crew planted, else -1.

    trained: (sessions, 3) crew, step, day; training_factor: what carelessness is times afterwards
    """

    names: list[str]
    carelessness: Floats
    general: Floats
    weak: Ints
    volume: Floats
    joined_day: Ints
    frailty: Floats
    trained: Ints
    training_factor: float

    def careless_at(self, crew: Ints, day: Ints, step: int) -> Floats:
        """Carelessness in a step of the crews that fitted doors on those days."""
        careless = self.carelessness[crew, step]
        for trained_crew, trained_step, trained_day in self.trained:
            if trained_step == step:
                is_after = (crew == trained_crew) & (day > trained_day)
                careless = np.where(is_after, careless * self.training_factor, careless)
        return careless


def draw_crews(scenario: Scenario, steps: int, rng: np.random.Generator) -> Crews:
    """Crews of one firm; a crew's carelessness has a general part and one of its own for each step."""
    n = scenario.crews
    general = rng.normal(0.0, scenario.careless_sd, n)
    carelessness = np.exp(general[:, None] + rng.normal(0.0, scenario.careless_sd, (n, steps)))
    carelessness /= carelessness.mean(axis=0)
    joined = np.where(rng.random(n) < scenario.young_share, rng.uniform(0.3, 0.7, n) * scenario.days, 0.0)
    joined[0] = 0.0  # somebody fits the first door
    carelessness[joined > 0] *= scenario.young_factor
    weak = _plant_weak(carelessness, scenario.weak_factor, rng)
    return Crews(
        names=crew_names(n),
        carelessness=carelessness,
        general=general,
        weak=weak,
        volume=np.exp(rng.normal(0.0, 0.3, n)),
        joined_day=joined.astype(np.int64),
        frailty=rng.normal(0.0, scenario.crew_frailty, n) + scenario.frailty_of_careless * general,
        trained=_sessions(scenario, weak, rng),
        training_factor=scenario.training_factor,
    )


def _plant_weak(carelessness: Floats, factor: float, rng: np.random.Generator) -> Ints:
    n, steps = carelessness.shape
    if factor <= 1.0 or n < 2:
        return np.full(steps, -1)
    weak = np.concatenate([rng.permutation(n) for _ in range(-(-steps // n))])[:steps]
    for step, crew in enumerate(weak):
        carelessness[crew, step] = factor * np.delete(carelessness[:, step], crew).max()
    return weak


def crew_names(n: int) -> list[str]:
    """Invented names: Crew Alder, Crew Ash, ... and on with a number once the trees run out."""
    return [f"Crew {TREES[i % len(TREES)]}" + (f" {i // len(TREES) + 1}" if i >= len(TREES) else "") for i in range(n)]


def crews_record(crews: Crews, scenario: Scenario) -> pl.DataFrame:
    """The record `crews`: crew, joined_on, left_on."""
    joined = [scenario.starts_on + timedelta(days=int(day)) if day else None for day in crews.joined_day]
    schema = {"crew": pl.String, "joined_on": pl.Date, "left_on": pl.Date}
    return pl.DataFrame({"crew": crews.names, "joined_on": joined, "left_on": [None] * len(joined)}, schema=schema)


def _sessions(scenario: Scenario, weak: Ints, rng: np.random.Generator) -> Ints:
    n = scenario.trainings
    days = (np.sort(rng.uniform(0.3, 0.9, n)) * scenario.days).astype(np.int64)
    crew, step = rng.integers(0, scenario.crews, n), rng.integers(0, len(weak), n)
    if scenario.trains_weak:
        crew = np.where(weak[step] >= 0, weak[step], crew)
    return np.column_stack([crew, step, days])


def training_record(crews: Crews, steps: tuple[str, ...], scenario: Scenario) -> pl.DataFrame:
    """The record `training`."""
    return pl.DataFrame(
        {
            "crew": [crews.names[crew] for crew in crews.trained[:, 0]],
            "step": [steps[step] for step in crews.trained[:, 1]],
            "trained_on": [scenario.starts_on + timedelta(days=int(day)) for day in crews.trained[:, 2]],
            "hours": [(2.0, 4.0, 7.5)[i % 3] for i in range(len(crews.trained))],
        },
        schema={"crew": pl.String, "step": pl.String, "trained_on": pl.Date, "hours": pl.Float64},
    )
