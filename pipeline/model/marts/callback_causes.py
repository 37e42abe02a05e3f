"""callback_causes: how much of one callback each deviation of its door accounts for, and how much none does.

grain: one row per callback and deviation that accounts for a part of it, and one row `unexplained`
key: callback_id, deviation
left out: callbacks that open no episode a crew answers for, and those of no known door; deviations that account for
          nothing of the callback
columns:
  callback_id  text     part of the key
  deviation    text     part of the key: a cause with evidence for a fault of the callback, or one that the trade
                        expects of it, or `unexplained`
  share        double   part of the callback, 0 to 1; the rows of a callback sum to 1
  low          double   lower end of its 95 % interval, from the errors of the effects
  high         double   upper end
  install_id   text     the door
  step         text     step of the work; empty for `unexplained`
  faults       text     the callback's faults that it accounts for, joined by "; "; for `unexplained`, all of them
  value        double   what the door shows, in unit; a failed check its share failed; empty for `unexplained`
  good_value   double   what it was compared with: the better end of what the firm's doors show
  unit         text     unit of both
  unrecorded   integer  for `unexplained`: causes with evidence for these faults that are not recorded on the door
  is_recorded  boolean  the deviation is recorded on the door; false: its share is what to expect of it, from the doors
                        called back for the same fault on which it is recorded; empty for `unexplained`
  evidence     text     what effects says of it and these faults, the best of them: strong, suggestive, none or too_few;
                        with the last two it stands on what the trade expects; empty for `unexplained`

Against a door that is as good as the firm's better doors in every cause. Credit goes in the order of the work: what an
earlier deviation passed on to a later one is the earlier one's. A callback with several faults is the mean of them. A
cause that the trade expects and the records do not show counts as much as such causes have shown at this firm. Not
recorded is not zero: what is missing is drawn from doors with the same fault, those more often whose value fits what is
recorded of the door and its crew, many times over, and the shares are the mean; too few of them to draw from, and it
accounts for nothing. Source of the method: pipeline/stats/credit.py, two_groups.py, likeness.py; design notes in
DEVELOPERS.md, "What the numbers mean".
"""

from itertools import cycle

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.entered import Entered, causes_to_credit, enough_doors
from pipeline.model.evidence import GRADES, SHOWN
from pipeline.model.pair_design import Firm
from pipeline.model.risk import answered_episodes, watched_doors
from pipeline.model.study import study_of
from pipeline.stats.credit import credit_errors, credit_shares, own_parts, share_interval
from pipeline.stats.intervals import Floats
from pipeline.stats.likeness import Likeness, drawn_rows

UNEXPLAINED = "unexplained"
LEAST_SHARE = 1e-12  # what is less is rounding
LEAST_DOORS, MOST_DOORS = 10, 200  # called back for the fault with the deviation recorded, to draw from
DRAWS, CHANCES = 20, 100  # of what is missing; of what is something or nothing

SCHEMA = {
    "callback_id": pl.String, "deviation": pl.String, "share": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    "install_id": pl.String, "step": pl.String, "faults": pl.String, "value": pl.Float64, "good_value": pl.Float64,
    "unit": pl.String, "unrecorded": pl.Int64, "is_recorded": pl.Boolean, "evidence": pl.String,
}  # fmt: skip


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    effects: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per callback and what accounts for a part of it."""
    counted = answered_episodes(episodes)
    if counted.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched_doors(door_time), staged_installs, door_values, door_limits, catalogue, settings)
    entered = causes_to_credit(effects, study.firm)
    doors = pl.DataFrame({"install_id": study.watched.install_ids}).with_row_index("door")
    calls = counted.join(doors, on="install_id").sort("fault", "callback_id")
    rng, likeness = np.random.default_rng([study.seed, 6]), _likeness(study.firm)
    by_fault = calls.group_by("fault", maintain_order=True)
    parts = [_of_fault(entered.get(str(fault)), rows, (study.firm, likeness), rng) for (fault,), rows in by_fault]
    return _combined(pl.concat(parts))


def _likeness(firm: Firm) -> Likeness:
    """How deviations go together among the firm's doors."""
    told = enough_doors(firm)
    return Likeness(firm.values[told], firm.groups[told], int(firm.groups.max()) + 1)


def _of_fault(
    entered: Entered | None, calls: pl.DataFrame, known: tuple[Firm, Likeness], rng: np.random.Generator
) -> pl.DataFrame:
    """The callbacks of one fault: a row for each cause that accounts for a part, and one for what none does."""
    calls = calls.select("callback_id", "install_id", "fault", "door")
    if entered is None:
        return _unexplained(calls, np.ones(calls.height), np.zeros(calls.height), np.zeros(calls.height, np.int64))
    firm, likeness = known
    door = calls["door"].to_numpy()
    values, groups = firm.values[door], firm.groups[door]
    seen = values[:, entered.columns]
    shares, errors = _shares(entered, _drawn(entered, (values, groups), likeness, rng), rng)
    parts = [
        calls.select(
            "callback_id", "install_id", "fault",
            deviation=pl.lit(place.name), step=pl.lit(place.step), share=pl.Series(shares[:, k]),
            error=pl.Series(errors[:, k]), value=pl.Series(seen[:, k]).fill_nan(None),
            good_value=pl.lit(entered.references[k]), unit=pl.lit(place.unit),
            unrecorded=pl.lit(None, dtype=pl.Int64), is_recorded=pl.Series(np.isfinite(seen[:, k])),
            evidence=pl.lit(entered.evidence[k]),
        ).filter(pl.col("share") > LEAST_SHARE)
        for k, place in enumerate(entered.places)
    ]  # fmt: skip
    is_shown = [grade in SHOWN for grade in entered.evidence]
    unrecorded = np.isnan(seen[:, is_shown]).sum(axis=1)
    return pl.concat([*parts, _unexplained(calls, shares[:, -1], errors[:, -1], unrecorded)])


def _shares(entered: Entered, drawn: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """(n, K + 1) shares, last what none explains, and their standard errors, over all draws.

    drawn  (draws, n, K) the excess with what is missing drawn. Shares are the mean over these, with each effect as
           large as is to be expected; how they differ where effects are drawn as something or nothing is their error.
    """
    own = [own_parts(excess, entered.passed_on) for excess in drawn]
    expected = entered.chances * entered.coefficients
    shares = np.mean([np.column_stack(credit_shares(parts * expected)) for parts in own], axis=0)
    # of a stream of its own, so that shares do not hang on how their errors are drawn
    return shares, _errors(entered, own, rng.spawn(1)[0])


def _errors(entered: Entered, own: list[Floats], rng: np.random.Generator) -> Floats:
    """(n, K + 1) of the shares and, last, of what none explains: from draw to draw, and of the effects in each."""
    n_draws = CHANCES if (entered.chances < 1).any() else len(own)
    sums = np.zeros((3, len(own[0]), len(entered.places) + 1))
    for copy, is_something in zip(cycle(own), _something(entered.chances, n_draws, rng), strict=False):
        parts = copy * is_something
        share = np.column_stack(credit_shares(parts * entered.coefficients))
        error = np.column_stack(credit_errors(parts * entered.coefficients, parts * entered.errors))
        sums += share, share**2, error**2
    mean, square, variance = sums / n_draws
    return np.asarray(np.sqrt(variance + np.maximum(square - mean**2, 0.0)))


def _something(chances: Floats, draws: int, rng: np.random.Generator) -> NDArray[np.bool_]:
    """(draws, K) in which draws each cause is something, as near to its chance as so many draws can be."""
    places = np.column_stack([rng.permutation(draws) for _ in chances])
    return np.asarray((places + rng.random(places.shape)) / draws < chances)


def _drawn(
    entered: Entered, doors: tuple[Floats, NDArray[np.int64]], likeness: Likeness, rng: np.random.Generator
) -> Floats:
    """(draws, n, K) the doors' excess with what is missing drawn from those where it is recorded; once if nothing is.

    doors  values (n, D) and groups (n,): what is known of a door foretells what is missing
    """
    excess = entered.excess(doors[0][:, entered.columns])
    is_missing = np.isnan(excess)
    copies = np.repeat(np.nan_to_num(excess)[None], DRAWS if is_missing.any() else 1, axis=0)
    for k, (column, missing) in enumerate(zip(entered.columns, is_missing.T, strict=True)):
        rows, having = np.flatnonzero(missing), np.flatnonzero(~missing)
        if not len(rows) or len(having) < LEAST_DOORS:
            continue
        if len(having) > MOST_DOORS:
            having = np.sort(rng.choice(having, MOST_DOORS, replace=False))
        foretold = likeness.foretell(*doors, column)
        copies[:, rows, k] = excess[drawn_rows(foretold, rows, having, len(copies), rng), k]
    return copies


def _unexplained(calls: pl.DataFrame, share: Floats, error: Floats, unrecorded: NDArray[np.int64]) -> pl.DataFrame:
    nothing = pl.lit(None, dtype=pl.Float64)
    return calls.select(
        "callback_id", "install_id", "fault",
        deviation=pl.lit(UNEXPLAINED), step=pl.lit(None, dtype=pl.String), share=pl.Series(share),
        error=pl.Series(error), value=nothing, good_value=nothing, unit=pl.lit(None, dtype=pl.String),
        unrecorded=pl.Series(unrecorded).cast(pl.Int64), is_recorded=pl.lit(None, dtype=pl.Boolean),
        evidence=pl.lit(None, dtype=pl.String),
    )  # fmt: skip


def _combined(parts: pl.DataFrame) -> pl.DataFrame:
    """Callbacks with several faults: the mean of them, so that their rows sum to 1 as well."""
    n_faults = pl.col("fault").filter(pl.col("deviation") == UNEXPLAINED).len().over("callback_id")
    weighted = parts.with_columns(weight=1 / n_faults).sort("callback_id", "deviation", "fault")
    rows = weighted.group_by("callback_id", "deviation", maintain_order=True).agg(
        (pl.col("share") * pl.col("weight")).sum(),
        ((pl.col("error") * pl.col("weight")) ** 2).sum().sqrt(),
        pl.col("fault").str.join("; ").alias("faults"),
        pl.col("install_id", "step", "value", "unit", "is_recorded").first(),
        # the faults may have been compared with doors that are a little different
        pl.col("good_value").mean(),
        pl.col("unrecorded").sum(),
        pl.col("evidence").cast(pl.Enum(GRADES)).min().cast(pl.String),
    )
    low, high = share_interval(rows["share"].to_numpy(), rows["error"].to_numpy())
    return rows.with_columns(
        low=pl.Series(low),
        high=pl.Series(high),
        unrecorded=pl.when(pl.col("deviation") == UNEXPLAINED).then("unrecorded"),
    ).select(list(SCHEMA))
