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
  low          double   lower end of its 95 % interval, from the errors of the effects, the readings and what is missing
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
                        with the last two it stands on what the trade expects, or on `through`; empty for `unexplained`
  through      text     the cause with evidence that it brings about, and counts by way of; empty where it counts by
                        itself
  effect_error double   standard error of share from the effects alone: the same for all callbacks, not averaged out

Against a door that is as good as the firm's better doors in every cause. Credit goes in the order of the work: what an
earlier deviation passed on to a later one is the earlier one's. A callback with several faults is the mean of them. A
cause that the trade expects and the records do not show counts as much as such causes have shown at this firm. Not
recorded is not zero: what is missing is drawn from doors with the same fault, those more often whose value fits what is
recorded of the door and its crew, many times over, and the shares are the mean; too few of them to draw from, and it
accounts for nothing. Source of the method: pipeline/stats/credit.py, two_groups.py, likeness.py; design notes in
DEVELOPERS.md, "What the numbers mean".
"""

from dataclasses import dataclass, fields

import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy import special

from pipeline.model.door_matrix import door_matrix
from pipeline.model.entered import Entered, causes_to_credit, enough_doors
from pipeline.model.evidence import GRADES, SHOWN
from pipeline.model.pair_design import Firm
from pipeline.model.risk import answered_episodes, watched_doors
from pipeline.model.study import study_of
from pipeline.stats.credit import credit_errors, credit_shares, own_parts
from pipeline.stats.intervals import Floats
from pipeline.stats.likeness import Likeness, drawn_rows

UNEXPLAINED = "unexplained"
LEAST_SHARE = 1e-12  # what is less is rounding
LEAST_DOORS, MOST_DOORS = 10, 200  # called back for the fault with the deviation recorded, to draw from
COPIES, DRAWS = 20, 200  # of what is missing; of it, the readings and the effects together
ROWS_AT_ONCE = 4000
LEAST_END = 0.005  # a share that may be less than half a percent may be nothing
LEAST_RELIABLE = 0.3  # part of a reading's variance: what is blurred more than this is not told apart from it
LEAST_BLUR = 0.2  # of what doors differ by: readings that nobody repeats tell of no error but their step; a judgement

SCHEMA = {
    "callback_id": pl.String, "deviation": pl.String, "share": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    "install_id": pl.String, "step": pl.String, "faults": pl.String, "value": pl.Float64, "good_value": pl.Float64,
    "unit": pl.String, "unrecorded": pl.Int64, "is_recorded": pl.Boolean, "evidence": pl.String,
    "through": pl.String, "effect_error": pl.Float64,
}  # fmt: skip


@dataclass(frozen=True)
class _Known:
    """firm: its doors; likeness: how deviations go together among them; errors: the table callback_errors."""

    firm: Firm
    likeness: Likeness
    errors: pl.DataFrame


@dataclass(frozen=True)
class _Found:
    """(n, K + 1) each, last what none explains: shares, ends of their intervals, standard errors from the effects."""

    share: Floats
    low: Floats
    high: Floats
    effect_error: Floats

    def columns(self, k: int) -> dict[str, pl.Series]:
        """Those of one cause."""
        return {field.name: pl.Series(getattr(self, field.name)[:, k]) for field in fields(self)}


@dataclass(frozen=True)
class _Excess:
    """How far the doors (n,) are worse than good ones: copies (R, n, K) with what is missing drawn.

    errors  (n, K) of what is recorded, in the worse direction; distance (n, K) from the reference, below 0 where
            better, nan where not recorded
    """

    copies: Floats
    distance: Floats
    errors: Floats

    def as_may_be(self, draw: int, rows: slice, rng: np.random.Generator) -> Floats:
        """(m, K) some rows with the readings drawn as well."""
        copy = self.copies[draw % len(self.copies), rows]
        moved = np.maximum(self.distance[rows] + self.errors[rows] * rng.standard_normal(copy.shape), 0.0)
        return np.where(np.isnan(moved), copy, moved)


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    callback_errors: pl.DataFrame,
    effects: pl.DataFrame,
    dose_fits: pl.DataFrame,
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
    entered = causes_to_credit(effects, dose_fits, study.firm)
    doors = pl.DataFrame({"install_id": study.watched.install_ids}).with_row_index("door")
    calls = counted.join(doors, on="install_id").sort("fault", "callback_id")
    rng, known = np.random.default_rng([study.seed, 6]), _Known(study.firm, _likeness(study.firm), callback_errors)
    by_fault = calls.group_by("fault", maintain_order=True)
    parts = [_of_fault(entered.get(str(fault)), rows, known, rng) for (fault,), rows in by_fault]
    return _combined(pl.concat(parts))


def _likeness(firm: Firm) -> Likeness:
    """How deviations go together among the firm's doors."""
    told = enough_doors(firm)
    return Likeness(firm.values[told], firm.groups[told], int(firm.groups.max()) + 1)


def _of_fault(entered: Entered | None, calls: pl.DataFrame, known: _Known, rng: np.random.Generator) -> pl.DataFrame:
    """The callbacks of one fault: a row for each cause that accounts for a part, and one for what none does."""
    calls = calls.select("callback_id", "install_id", "fault", "door")
    if entered is None:
        all_of_it = np.ones((calls.height, 1))
        surely = _Found(all_of_it, all_of_it, all_of_it, np.zeros_like(all_of_it))
        return _unexplained(calls, surely, np.zeros(calls.height, np.int64))
    seen = known.firm.as_read(calls["door"].to_numpy())[:, entered.columns]
    found = _shares(entered, _excess(entered, calls, known, rng), rng)
    parts = [
        calls.select(
            "callback_id", "install_id", "fault",
            deviation=pl.lit(place.name), step=pl.lit(place.step), **found.columns(k),
            value=pl.Series(seen[:, k]).fill_nan(None), good_value=pl.lit(entered.references[k]),
            unit=pl.lit(place.unit), unrecorded=pl.lit(None, dtype=pl.Int64),
            is_recorded=pl.Series(np.isfinite(seen[:, k])), evidence=pl.lit(entered.evidence[k]),
            through=pl.lit(entered.through[k], dtype=pl.String),
        ).filter(pl.col("share") > LEAST_SHARE)
        for k, place in enumerate(entered.places)
    ]  # fmt: skip
    is_shown = [grade in SHOWN for grade in entered.evidence]
    unrecorded = np.isnan(seen[:, is_shown]).sum(axis=1)
    return pl.concat([*parts, _unexplained(calls, found, unrecorded)])


def _shares(entered: Entered, excess: _Excess, rng: np.random.Generator) -> _Found:
    """Shares, last what none explains: the mean over what is missing, with each effect as large as is to be expected.

    Intervals are those of draws, in which what is missing, the readings and the effects are drawn, these as something
    or as nothing.
    """
    # of a stream of its own, so that shares do not hang on how their errors are drawn
    of_errors = rng.spawn(1)[0]
    share, effect_error = _expected_shares(entered, excess.copies)
    effects = _effects(entered, of_errors)
    low, high = np.empty_like(share), np.empty_like(share)
    for start in range(0, len(share), ROWS_AT_ONCE):
        part = slice(start, start + ROWS_AT_ONCE)
        drawn = np.empty((*share[part].shape, DRAWS), dtype=np.float32)
        for number, coefficients in enumerate(effects):
            own = _own(entered, excess.as_may_be(number, part, of_errors))
            drawn[..., number] = np.column_stack(credit_shares(own * coefficients))
        low[part], high[part] = np.quantile(drawn, (0.025, 0.975), axis=-1)
    low[low < LEAST_END] = 0.0
    return _Found(share, np.minimum(low, share), np.maximum(high, share), effect_error)


def _expected_shares(entered: Entered, copies: Floats) -> tuple[Floats, Floats]:
    """(n, K + 1) shares and their standard errors from the effects alone, over copies (R, n, K) of the excess."""
    expected = entered.chances * entered.coefficients
    spread = np.sqrt(entered.chances * (entered.errors**2 + entered.coefficients**2) - expected**2)
    own = [_own(entered, copy) for copy in copies]
    return (
        np.mean([np.column_stack(credit_shares(parts * expected)) for parts in own], axis=0),
        np.mean([np.column_stack(credit_errors(parts * expected, parts * spread)) for parts in own], axis=0),
    )


def _own(entered: Entered, excess: Floats) -> Floats:
    """(n, K) each cause's own part of the excess, in units that all count alike."""
    return own_parts(excess, entered.passed_on) * entered.straightened(excess)


def _effects(entered: Entered, rng: np.random.Generator) -> Floats:
    """(draws, K) coefficients as they may be, 0 where nothing, spread as evenly as so many draws can be.

    Source: McKay, Beckman and Conover (1979), Technometrics 21, 239-245 (Latin hypercube sampling).
    """
    chances, middles, errors = entered.possible
    order = rng.permuted(np.tile(np.arange(DRAWS), (2 * len(chances), 1)), axis=1)
    is_something, place = np.split((order.T + rng.random((DRAWS, 2 * len(chances)))) / DRAWS, 2, axis=1)
    return np.where(is_something < chances, np.maximum(middles + errors * special.ndtri(place), 0.0), 0.0)


def _excess(entered: Entered, calls: pl.DataFrame, known: _Known, rng: np.random.Generator) -> _Excess:
    firm, door = known.firm, calls["door"].to_numpy()
    values = firm.values[door]
    errors = door_matrix(known.errors, calls["install_id"], firm.values.shape[1])[:, entered.columns]
    # nan, where there is no uncertainty, stays
    errors = np.maximum(errors, LEAST_BLUR * np.nanstd(firm.values[:, entered.columns], axis=0))
    return _Excess(
        copies=_drawn(entered, (values, firm.groups[door]), known.likeness, rng),
        distance=entered.distance(values[:, entered.columns]),
        errors=np.nan_to_num(errors) / np.sqrt(_reliability(errors, firm.values[:, entered.columns])),
    )


def _reliability(errors: Floats, values: Floats) -> Floats:
    """(K,) part of the variance of values (n, K) that is not error.

    The effects are those of what was read, and smaller by as much as the true ones; what is true given a reading is
    spread by its error times the root of this, and counts by the true effect (Carroll et al. (2006), Measurement Error
    in Nonlinear Models, 2nd ed., chapter 4).
    """
    blur = np.array([np.mean(column[np.isfinite(column)] ** 2) if np.isfinite(column).any() else 0.0
                     for column in errors.T])  # fmt: skip
    spread = np.nanvar(values, axis=0)
    return np.clip(1 - blur / np.where(spread > 0, spread, 1.0), LEAST_RELIABLE, 1.0)


def _drawn(
    entered: Entered, doors: tuple[Floats, NDArray[np.int64]], likeness: Likeness, rng: np.random.Generator
) -> Floats:
    """(draws, n, K) the doors' excess with what is missing drawn from those where it is recorded; once if nothing is.

    doors  values (n, D) and groups (n,): what is known of a door foretells what is missing
    """
    excess = entered.excess(doors[0][:, entered.columns])
    is_missing = np.isnan(excess)
    copies = np.repeat(np.nan_to_num(excess)[None], COPIES if is_missing.any() else 1, axis=0)
    for k, (column, missing) in enumerate(zip(entered.columns, is_missing.T, strict=True)):
        rows, having = np.flatnonzero(missing), np.flatnonzero(~missing)
        if not len(rows) or len(having) < LEAST_DOORS:
            continue
        if len(having) > MOST_DOORS:
            having = np.sort(rng.choice(having, MOST_DOORS, replace=False))
        foretold = likeness.foretell(*doors, column)
        copies[:, rows, k] = excess[drawn_rows(foretold, rows, having, len(copies), rng), k]
    return copies


def _unexplained(calls: pl.DataFrame, found: _Found, unrecorded: NDArray[np.int64]) -> pl.DataFrame:
    nothing = pl.lit(None, dtype=pl.Float64)
    return calls.select(
        "callback_id", "install_id", "fault",
        deviation=pl.lit(UNEXPLAINED), step=pl.lit(None, dtype=pl.String), **found.columns(-1), value=nothing,
        good_value=nothing, unit=pl.lit(None, dtype=pl.String), unrecorded=pl.Series(unrecorded).cast(pl.Int64),
        is_recorded=pl.lit(None, dtype=pl.Boolean), evidence=pl.lit(None, dtype=pl.String),
        through=pl.lit(None, dtype=pl.String),
    )  # fmt: skip


def _combined(parts: pl.DataFrame) -> pl.DataFrame:
    """Callbacks with several faults: the mean of them, so that their rows sum to 1 as well.

    Its interval is as far from it as the errors of independent parts add up (Zou and Donner (2008), Stat. Med. 27,
    1693-1702).
    """
    n_faults = pl.col("fault").filter(pl.col("deviation") == UNEXPLAINED).len().over("callback_id")
    share, weight = pl.col("share"), pl.col("weight")

    def apart(distance: pl.Expr) -> pl.Expr:
        return ((distance * weight) ** 2).sum().sqrt()

    weighted = parts.with_columns(weight=1 / n_faults).sort("callback_id", "deviation", "fault")
    rows = weighted.group_by("callback_id", "deviation", maintain_order=True).agg(
        (share * weight).sum(),
        below=apart(share - pl.col("low")),
        above=apart(pl.col("high") - share),
        effect_error=apart(pl.col("effect_error")),
        faults=pl.col("fault").str.join("; "),
        # the faults may have been compared with doors that are a little different
        good_value=pl.col("good_value").mean(),
        unrecorded=pl.col("unrecorded").sum(),
        evidence=pl.col("evidence").cast(pl.Enum(GRADES)).min().cast(pl.String),
        # by way of another for every fault, else by itself
        through=pl.when(pl.col("through").is_not_null().all()).then(pl.col("through").first()),
        **{name: pl.col(name).first() for name in ("install_id", "step", "value", "unit", "is_recorded")},
    )
    return rows.with_columns(
        low=(share - pl.col("below")).clip(0.0),
        high=(share + pl.col("above")).clip(upper_bound=1.0),
        unrecorded=pl.when(pl.col("deviation") == UNEXPLAINED).then("unrecorded"),
    ).select(list(SCHEMA))
