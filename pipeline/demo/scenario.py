"""What kind of firm is simulated. Every number here is invented."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Scenario:
    """The parameters of one simulated firm; all randomness follows from `seed`.

    years, growth          time from the first fitting to `ends_on`; fittings a day grow by `growth` times over it
    callbacks_per_door     expected rows of callbacks, repeats and calls without a fault included
    effect_scale           multiplies every effect and chain; 0 is a firm where no deviation matters
    careless_sd            spread (log) of a crew's general carelessness, and again of each step of its own
    weak_factor            in each step one crew is that many times as careless as the next worst; 1: none planted
    hard_to_careful        how strongly hard doors go to careful crews; 0: by chance
    young_share            share of crews that joined during the period; young_factor: how much more careless they are
    effects_differ         sd between crews of every direct effect, as a share of it
    crew_, site_, door_frailty   log sd of rates that nothing recorded explains
    frailty_of_careless    how much of a crew's general carelessness shows as well in what nothing records
    recorded               share of doors for which a section of the record sheet is on record
    sections               the same for single sections (see readings.SECTIONS; "checks": those of every step)
    leaves_out_bad         share of sections left out where the door is among the worst fifth, by crews but the first
    leaves_out_failed      share of failed checks not ticked at all, by crews but the first
    reread                 share of visits at which the door is measured again, as bad as it has become
    copied, flat, heaped   share of one crew's doors with the jambs of its door before, with a sill all of one height,
                           with what lies beyond a limit written just inside it; three crews (see dishonesty.habits)
    rounds                 True: a fourth crew writes every length to the whole millimetre
    noise                  multiplies the random part of every instrument's error
    recurs                 share of a door's further reports of a fault that come although the first was put right
    repeat_scale           multiplies the share of visits that are followed by a second one for the same fault
    no_fault_share, product_share, use_share, pre_handover_share   of all callbacks
    blank_responsibility   share of callbacks that nobody has given a responsibility
    season                 swing of the hazard over the year, 0 to 1, for faults that have a season
    late_paper             True: callbacks logged after the last day are not in the records
    paper_days             days from a report to its logging, on average
    trainings, training_factor   sessions of one crew in one step, and what its carelessness there is times afterwards
    trains_weak            True: sessions are for the crews planted as weak, as far as there are such; else by chance
    measures               measures on record; None: all
    """

    doors: int = 4000
    crews: int = 24
    seed: int = 1
    years: float = 2.5
    growth: float = 1.0
    ends_on: date = date(2025, 6, 30)
    callbacks_per_door: float = 0.45
    effect_scale: float = 1.0
    effects_differ: float = 0.0
    careless_sd: float = 0.22
    weak_factor: float = 1.35
    hard_to_careful: float = 0.4
    young_share: float = 0.1
    young_factor: float = 1.0
    crew_frailty: float = 0.1
    frailty_of_careless: float = 0.0
    site_frailty: float = 0.0
    door_frailty: float = 0.0
    recorded: float = 0.94
    sections: Mapping[str, float] = field(default_factory=dict)
    leaves_out_bad: float = 0.0
    leaves_out_failed: float = 0.0
    reread: float = 0.0
    copied: float = 0.0
    flat: float = 0.0
    heaped: float = 0.0
    rounds: bool = False
    noise: float = 1.0
    recurs: float = 0.3
    repeat_scale: float = 0.5
    no_fault_share: float = 0.05
    product_share: float = 0.04
    use_share: float = 0.03
    pre_handover_share: float = 0.005
    blank_responsibility: float = 0.1
    season: float = 0.0
    late_paper: bool = False
    paper_days: float = 6.0
    removed_a_year: float = 0.005
    trainings: int = 6
    training_factor: float = 1.0
    trains_weak: bool = False
    measures: tuple[str, ...] | None = None

    @property
    def starts_on(self) -> date:
        """The day of the first fitting."""
        return self.ends_on - timedelta(days=round(self.years * DAYS_A_YEAR))

    @property
    def days(self) -> int:
        """From the first day to the last."""
        return (self.ends_on - self.starts_on).days
