"""Keep, tighten or loosen: said only on strong evidence, and only where the whole interval lies on one side."""

from typing import Any

from pipeline.model.adjusters import Place
from pipeline.model.limit_place import RISK, UsualLimit
from pipeline.stats.curves import Crossing

KEEP, TIGHTEN, LOOSEN, TOO_FEW = "keep", "tighten", "loosen", "too_few"


def is_worse(value: float, than: float, place: Place) -> bool:
    """The value lies on the worse side of the other."""
    return value < than if place.is_lower_worse else value > than


def objects_to_loosening(found: Crossing, usual: UsualLimit, place: Place) -> bool:
    """The risk may be reached before the loosest of the limits in use, or at it."""
    if usual.value is None or found.soonest is None:
        return False
    return not is_worse(found.soonest, _loosest(usual, place), place)


def verdict(
    effect: dict[str, Any],
    fitted: tuple[dict[str, Any], Crossing] | None,
    usual: UsualLimit,
    place: Place,
    against: set[str],
) -> tuple[str, str]:
    """Advice and why.

    effect   the pair's row of effects;  fitted: its row of dose_fits and where RISK is reached, None without
    against  other faults that speak against loosening
    """
    if effect["evidence"] == "too_few":
        return TOO_FEW, effect["note"] or "too few to tell"
    if effect["evidence"] != "strong":
        return KEEP, "no strong evidence that it brings this fault"
    if fitted is None:
        return KEEP, "the doors share too few values for a curve"
    if usual.value is None:
        return KEEP, "no limit is in use on most doors"
    fit, found = fitted
    strictest = usual.high if place.is_lower_worse else usual.low
    if found.latest is not None and is_worse(strictest, found.latest, place):
        return TIGHTEN, f"a door reaches {RISK} times the risk before it reaches the limit"
    return _loosen_or_keep(found, usual, fit["reference"], place, against)


def _loosen_or_keep(
    found: Crossing, usual: UsualLimit, reference: float, place: Place, against: set[str]
) -> tuple[str, str]:
    if found.soonest is None:
        return KEEP, f"no door on record reaches {RISK} times the risk, and nothing is known beyond them"
    if objects_to_loosening(found, usual, place):
        return KEEP, f"where {RISK} times the risk begins is not known well enough to move it"
    if not is_worse(_loosest(usual, place), reference, place):
        return (
            KEEP,
            "it asks for what the better doors show already, so that a looser one could only cost callbacks",
        )
    if against:
        return KEEP, f"another fault speaks against loosening: {', '.join(sorted(against)).replace('_', ' ')}"
    return LOOSEN, f"doors well beyond it stay below {RISK} times the risk, for every fault with evidence"


def _loosest(usual: UsualLimit, place: Place) -> float:
    return usual.low if place.is_lower_worse else usual.high
