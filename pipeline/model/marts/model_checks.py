"""model_checks: whether boosted trees foretell a later period better than the plain model behind recheck.

grain: one row per fault with 10 first callbacks or more, and one row `all`
key: fault
columns:
  fault                   text     key; `all`: every fault that both learned, doors compared within a fault
  cut_on                  date     last day of the records that both learned from
  doors                   integer  doors watched after it
  before                  integer  first callbacks that both learned from
  came                    integer  first callbacks that came after it
  c_plain                 double   chance that of two doors of an age the one that comes back first was foretold the
                                   higher risk; 0.5 is chance alone (concordance)
  c_plain_low             double   lower end of its 95 % interval
  c_plain_high            double   upper end
  c_challenger            double   the same of the challenger
  c_challenger_low        double   lower end
  c_challenger_high       double   upper end
  c_gain                  double   c_challenger - c_plain
  c_gain_low              double   lower end
  c_gain_high             double   upper end
  slope_plain             double   how large differences between doors were, against what was foretold: 1 is as foretold
  slope_plain_low         double   lower end
  slope_plain_high        double   upper end
  slope_challenger        double   the same of the challenger
  slope_challenger_low    double   lower end
  slope_challenger_high   double   upper end
  level_plain             double   callbacks that came / those foretold
  level_plain_low         double   lower end (exact Poisson)
  level_plain_high        double   upper end
  level_challenger        double   the same of the challenger
  level_challenger_low    double   lower end
  level_challenger_high   double   upper end
  new_share               double   part of what both tell of which doors came back that the plain model alone does not
  p_value                 double   of what the challenger adds to the plain model
  q_value                 double   the same, held over all rows
  verdict                 text     nothing missed / something missed / too_few
  look_at                 text     what the challenger saw that the plain model does not; empty where nothing is missed
  note                    text     what to bear in mind, or what is too few; empty where there is nothing to add

`something missed` needs q_value <= 0.05, the challenger better, and a new_share of 0.05 or more. Sources: Harrell, Lee
and Mark (1996), Stat. Med. 15, 361-387 (discrimination, calibration on other data); Uno et al. (2011), Stat. Med. 30,
1105-1117; Cox (1958), Biometrika 45, 562-565 (slope); Benjamini and Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.
"""

from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.challenger import LEAST_EARLIER, Challenge, challenges, foremost, is_judged
from pipeline.model.later_period import LEAST_LATER, Cut, cut_of, frequent_faults
from pipeline.model.risk import answered_episodes, watched_doors
from pipeline.model.study import Study, study_of
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.calibration import Later, calibration_slope
from pipeline.stats.concordance import Followed, concordance
from pipeline.stats.intervals import Z95, poisson_interval
from pipeline.stats.multiplicity import q_values
from pipeline.stats.two_scores import Added, added

MODELS = ("plain", "challenger")
MOST_Q, LEAST_NEW = 0.05, 0.05  # LEAST_NEW: a judgement, no source
TOO_FEW, MISSED, NOTHING = "too_few", "something missed", "nothing missed"
ENDS = ("", "_low", "_high")
SCHEMA: dict[str, Any] = {
    "fault": pl.String, "cut_on": pl.Date, "doors": pl.Int64, "before": pl.Int64, "came": pl.Int64,
    **{f"c_{what}{end}": pl.Float64 for what in (*MODELS, "gain") for end in ENDS},
    **{f"{kind}_{model}{end}": pl.Float64 for kind in ("slope", "level") for model in MODELS for end in ENDS},
    "new_share": pl.Float64, "p_value": pl.Float64, "q_value": pl.Float64, "verdict": pl.String, "look_at": pl.String,
    "note": pl.String,
}  # fmt: skip
Row = dict[str, Any]


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per fault, and one of all."""
    watched, names = watched_doors(door_time), frequent_faults(episodes)
    if not names:
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    doors = pl.DataFrame({"install_id": watched.install_ids})
    started = doors.join(door_time, on="install_id", how="left", maintain_order="left")["started_on"]
    cut = cut_of(episodes, started)
    if cut is None:
        return pl.DataFrame(schema=SCHEMA)
    with one_blas_thread():
        rows = _rows(study, cut, names)
    return pl.DataFrame(rows, schema=SCHEMA).sort("fault")


def _rows(study: Study, cut: Cut, names: list[str]) -> list[Row]:
    learned = challenges(study, cut, names)
    judged = {each.fault: [each] for each in learned if is_judged(each)}
    if sum(each.came.events.sum() for each in learned) >= LEAST_LATER:
        judged["all"] = learned
    looks = {name: added([each.twice(each.correction) for each in kinds]) for name, kinds in judged.items()}
    told = {name: look for name, look in looks.items() if look is not None}
    q = dict(zip(told, q_values([look.p_value for look in told.values()]), strict=True))
    rows = []
    for name in [*names, "all"]:
        row = dict.fromkeys(SCHEMA) | _counts(study, cut, name)
        if name in told:
            row |= _learned(judged[name])
            row |= _figures(judged[name], study.seed)
            row |= _verdict(judged[name], told[name], float(q[name]), study.seed) | {"note": _moved(row)}
        else:
            row |= {"verdict": TOO_FEW, "note": _lacking(row)}
        rows.append(row)
    return rows


def _counts(study: Study, cut: Cut, name: str) -> Row:
    """What there was before and after the cut."""
    answered = answered_episodes(cut.episodes).filter(pl.lit(name == "all") | (pl.col("fault") == name))
    first = answered.sort("reported_on").unique(["install_id", "fault"], keep="first")
    before = int((first["reported_on"] <= cut.cut_on).sum())
    doors = int((study.watched.leave > np.maximum(study.watched.entry, cut.ages)).sum())
    return {"fault": name, "cut_on": cut.cut_on, "doors": doors, "before": before, "came": first.height - before}


def _learned(kinds: list[Challenge]) -> Row:
    """What both learned from, and what they are judged by: a door's watch for a fault ends where no crew answers."""
    return {"before": sum(each.before for each in kinds), "came": int(sum(each.came.events.sum() for each in kinds))}


def _lacking(row: Row) -> str:
    return (
        f"{row['before']} first callbacks before and {row['came']} after; {LEAST_EARLIER} are needed to learn from and "
        f"{LEAST_LATER} to judge by"
    )


def _figures(kinds: list[Challenge], seed: int) -> Row:
    """Discrimination and calibration of both, side by side."""
    return {
        **_discrimination(kinds, seed),
        **{key: value for k, model in enumerate(MODELS) for key, value in _calibration(kinds, k, model).items()},
    }


def _discrimination(kinds: list[Challenge], seed: int) -> Row:
    followed = [
        Followed(each.scores, each.came.entry, each.came.leave, each.came.events, each.weights, each.rows, each.groups)
        for each in kinds
    ]
    found = concordance(followed, seed)
    if found is None:
        return {}
    row: Row = {}
    for what, contrast in (("plain", (1, 0)), ("challenger", (0, 1)), ("gain", (-1, 1))):
        middle, width = float(found.estimate @ np.array(contrast)), Z95 * found.error(contrast)
        bound = 1.0 if what == "gain" else 0.0
        ends = (middle, max(middle - width, -bound), min(middle + width, 1.0))
        row |= {f"c_{what}{end}": value for end, value in zip(ENDS, ends, strict=True)}
    return row


def _calibration(kinds: list[Challenge], k: int, model: str) -> Row:
    doors = np.unique(np.concatenate([each.rows for each in kinds]))
    slope = calibration_slope([_of_doors(each, doors, k) for each in kinds])
    row: Row = {}
    if slope is not None:
        ends = [slope.slope + side * Z95 * slope.error for side in (0, -1, 1)]
        row |= {f"slope_{model}{end}": value for end, value in zip(ENDS, ends, strict=True)}
    foretold = sum(float(each.exposure @ np.exp(each.scores[:, k])) for each in kinds)
    came = poisson_interval(sum(float(each.came.events.sum()) for each in kinds))
    parts = (came.estimate, came.low, came.high)
    return row | {f"level_{model}{end}": float(part) / foretold for end, part in zip(ENDS, parts, strict=True)}


def _of_doors(each: Challenge, doors: NDArray[np.int64], k: int) -> Later:
    """The same rows for every fault: doors that were not looked at for this one have no exposure."""
    score, exposure, events = np.zeros((3, len(doors)))
    at = np.searchsorted(doors, each.rows)
    score[at], exposure[at], events[at] = each.scores[:, k], each.exposure, each.came.events
    return Later(score, exposure, events)


def _moved(row: Row) -> str:
    """Whether level or differences moved: no matter of what the model sees, and recheck puts both right."""
    said = []
    if all(row[f"level_{model}_low"] > 1 for model in MODELS):
        said.append("more callbacks came than either foretold")
    if all(row[f"level_{model}_high"] < 1 for model in MODELS):
        said.append("fewer callbacks came than either foretold")
    if (row["slope_plain_high"] or 1.0) < 1:
        said.append("doors differed less than the plain model foretold")
    return "; ".join(said)


def _verdict(kinds: list[Challenge], look: Added, q_value: float, seed: int) -> Row:
    row: Row = {"new_share": look.new_share, "p_value": look.p_value, "q_value": q_value}
    if not (look.slope > 0 and q_value <= MOST_Q and look.new_share >= LEAST_NEW):
        return row | {"verdict": NOTHING}
    # of several faults the one that the challenger tells most of shows what it sees
    looks = [(each, alone) for each in kinds if (alone := added([each.twice(each.correction)])) is not None]
    clearest, _ = max(looks, key=lambda pair: pair[1].slope / pair[1].error)
    named = foremost(clearest, seed)
    return row | {"verdict": MISSED, "look_at": ", ".join(named) or None}
