"""The firms of the calibration study: each scenario is a firm of 24 crews and 4,000 doors in which one thing is so."""

from typing import Any

from pipeline.demo.simulate import Firm, simulate

DOORS = 4000

SCENARIOS: dict[str, dict[str, Any]] = {
    "plain": {},
    "null": {"effect_scale": 0.0},
    "confounded crews": {"hard_to_careful": 1.5},
    "sloppy crews": {"frailty_of_careless": 1.0},
    "differing effects": {"effects_differ": 0.3},
    "noisy instruments": {"noise": 4.0},
    "35 % missing": {"recorded": 0.65},
    "missing because bad": {"recorded": 0.8, "leaves_out_bad": 0.7, "leaves_out_failed": 0.5},
    "read after complaints": {"reread": 0.6},
    "dishonest crew": {"copied": 0.25, "flat": 0.25, "heaped": 0.9, "rounds": True},
    "late paper": {"late_paper": True, "paper_days": 30.0},
    "training": {"trainings": 8, "training_factor": 0.6, "trains_weak": True},
    "messy life": {
        "season": 0.5, "removed_a_year": 0.04, "no_fault_share": 0.12, "product_share": 0.1, "use_share": 0.06,
        "site_frailty": 0.3, "door_frailty": 0.4, "repeat_scale": 1.0, "late_paper": True,
    },
    "6 crews": {"crews": 6},
    "60 crews": {"crews": 60},
}  # fmt: skip


def scenario_firm(scenario: str, seed: int) -> Firm:
    """One firm of a scenario. Raises KeyError for a name that is none of SCENARIOS."""
    return simulate(**{"doors": DOORS, "crews": 24, "seed": seed, **SCENARIOS[scenario]})
