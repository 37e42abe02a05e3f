"""The tests of a crew's record that set it beside the other crews': spread, boxes alike, tape lengths, days.

Each takes the rows of all crews and gives one Tested for each crew. A crew is compared with others that write the
measure to the same step, since a coarse step makes readings alike by itself.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import polars as pl
from scipy import stats

from pipeline.model.record_tests import FEWEST_DOORS, Tested
from pipeline.stats.one_against_others import outlier_p

# Material sizes and usual shares: common practice, no source. Three standard uncertainties make a tape blunder.
FLAT_MORE = 0.15
SPREAD_RATIO = 0.5
BLUNDER = 3.0
BLUNDERS, USUAL_BLUNDERS = 0.10, 0.01
FEW_BLUNDERS, MOST_USUAL_BLUNDERS = 0.03, 0.2  # of the usual other crew
WRONG_DAYS, USUAL_WRONG_DAYS = 0.10, 0.02


def flat_boxes(blocks: pl.DataFrame) -> dict[str, Tested]:
    """Members with one value in all boxes, beyond what other crews write, measure by measure.

    statistic: that share of members more, in the measure that stands out most; p-value: Bonferroni's over the measures.
    All measures in one, which are one more test, would hide a crew whose sills alone are too good to be measured.
    """
    rows = _beside_others(blocks.with_columns(pl.col("is_flat").cast(pl.Float64).alias("what")))
    parts = [*rows.sort("measure").partition_by("measure"), rows]
    return most_telling([_compared(part, lambda more: more, lambda size: size >= FLAT_MORE) for part in parts])


def most_telling(tests: list[dict[str, Tested]]) -> dict[str, Tested]:
    """Of several tests of each crew the one with the smallest p-value, multiplied by how many it was chosen from."""
    found = {}
    for crew in sorted({crew for test in tests for crew in test}):
        told = [test[crew] for test in tests if crew in test]
        known = [tested for tested in told if tested.p_value is not None]
        if known:
            best = min(known, key=lambda tested: tested.p_value or 0.0)
            found[crew] = replace(best, p_value=min(1.0, (best.p_value or 0.0) * len(known)))
        else:
            found[crew] = max(told, key=lambda tested: tested.doors)
    return found


def little_spread(blocks: pl.DataFrame) -> dict[str, Tested]:
    """How much readings of one member differ, against other crews; statistic: the ratio, under 1 is less."""
    # what a step hides cannot be told from no spread
    spread = pl.max_horizontal("spread", pl.col("step") / np.sqrt(12))
    rows = _beside_others(blocks.with_columns((-spread.log()).alias("what")))
    return _compared(rows, lambda less: float(np.exp(-less)), lambda size: size <= SPREAD_RATIO)


def _beside_others(blocks: pl.DataFrame) -> pl.DataFrame:
    """Members with three readings or more, with `more`: `what` less its mean over the other crews' at measure and step.

    Only where the other crews have FEWEST_DOORS such members.
    """
    rows = blocks.filter(pl.col("is_flat").is_not_null() & pl.col("step").is_not_null())
    alike, own = ["measure", "step"], ["crew", "measure", "step"]
    others = pl.len().over(alike).cast(pl.Int64) - pl.len().over(own).cast(pl.Int64)
    total = pl.col("what").sum().over(alike) - pl.col("what").sum().over(own)
    return (
        rows.with_columns(others.alias("others"))
        .with_columns((pl.col("what") - total / pl.col("others")).alias("more"))
        .filter(pl.col("others") >= FEWEST_DOORS)
    )


def _compared(
    rows: pl.DataFrame, size_of: Callable[[float], float], is_material: Callable[[float], bool]
) -> dict[str, Tested]:
    """Each crew's mean of `more` as an outlier among crews, its error from door to door."""
    by_door = rows.group_by("crew", "install_id").agg(pl.col("more").sum(), pl.len().alias("n"))
    mean = (pl.col("more").sum() / pl.col("n").sum()).over("crew")
    apart = (pl.col("more") - mean * pl.col("n")).alias("apart")
    crews = by_door.with_columns(apart).group_by("crew").agg(
        (pl.col("more").sum() / pl.col("n").sum()).alias("value"),
        ((pl.col("apart") ** 2).sum().sqrt() / pl.col("n").sum()).alias("error"),
        pl.len().alias("doors"),
    )  # fmt: skip
    enough = crews.filter(pl.col("doors") >= FEWEST_DOORS).sort("crew")
    p_values = outlier_p(enough["value"].to_numpy(), enough["error"].to_numpy())
    found = {crew: Tested(None, None, doors) for crew, doors in crews.select("crew", "doors").iter_rows()}
    for (crew, value, doors), p in zip(enough.select("crew", "value", "doors").iter_rows(), p_values, strict=True):
        if np.isfinite(p):
            size = size_of(value)
            found[crew] = Tested(size, float(p), doors, bool(is_material(size)))
    return found


def tape_blunders(doors: pl.DataFrame, recording_steps: pl.DataFrame) -> dict[str, Tested]:
    """Doors whose six lengths miss closing by over three standard uncertainties; statistic: share of doors.

    Counted from the crew's median, which its tape makes: one tape misses by as much on every door. A crew that writes
    lengths to a coarse step is allowed what that step hides, 1 / sqrt 12 of it for each length. Rough openings are no
    quadrilaterals with straight sides, and crews meet more or fewer of them: a crew has to stand out among crews too,
    and where many doors of the others do not close, closing tells nothing of a record.
    """
    lengths = recording_steps.filter(pl.col("measure").str.contains("^(frame|aperture)_(width|height|diagonal)$"))
    coarsest = lengths.group_by("crew").agg(pl.col("step").max())
    hidden = pl.col("length_factor") * pl.col("step").fill_null(0.0) / np.sqrt(12)
    closed = doors.filter(pl.col("misclosure").is_not_null()).join(coarsest, on="crew", how="left")
    allowed = BLUNDER * pl.max_horizontal("misclosure_u", hidden)
    from_usual = (pl.col("misclosure") - pl.col("misclosure").median().over("crew")).abs()
    is_bad = (from_usual > allowed) & (allowed > 0)
    closed = closed.with_columns(is_bad.alias("is_bad"))
    return _beyond_crews(_shares(closed, USUAL_BLUNDERS, BLUNDERS), closed)


def _beyond_crews(found: dict[str, Tested], doors: pl.DataFrame) -> dict[str, Tested]:
    """The same, where the usual other crew has bad doors too: the larger p-value, or none where it has many.

    Shares on Anscombe's scale, on which their error is 1 / (2 sqrt(n + 1/2)) whatever they are.
    Source: Anscombe (1948), Biometrika 35, 246-254.
    """
    crews = doors.group_by("crew").agg(pl.len().alias("n"), pl.col("is_bad").sum().alias("bad")).sort("crew")
    n, bad = (crews[name].to_numpy().astype(float) for name in ("n", "bad"))
    among = outlier_p(np.arcsin(np.sqrt((bad + 0.375) / (n + 0.75))), 0.5 / np.sqrt(n + 0.5))
    for place, crew in enumerate(crews["crew"]):
        tested, others = found[crew], np.delete(bad / n, place)
        usual = float(np.median(others)) if len(others) else 0.0
        if usual > MOST_USUAL_BLUNDERS:
            found[crew] = Tested(None, None, tested.doors)
        elif usual > FEW_BLUNDERS and tested.p_value is not None and np.isfinite(among[place]):
            found[crew] = replace(tested, p_value=max(tested.p_value, float(among[place])))
    return found


def impossible_days(doors: pl.DataFrame) -> dict[str, Tested]:
    """Doors with a reading on a day on which it cannot have been taken; statistic: share of doors with dates."""
    dated = doors.filter(pl.col("dated") > 0).with_columns((pl.col("impossible") > 0).alias("is_bad"))
    return _shares(dated, USUAL_WRONG_DAYS, WRONG_DAYS)


def _shares(doors: pl.DataFrame, usual: float, material: float) -> dict[str, Tested]:
    """Binomial chance of so many bad doors, at the usual share or the other crews' where that is higher."""
    crews = doors.group_by("crew").agg(pl.len().alias("n"), pl.col("is_bad").sum().cast(pl.Int64).alias("bad"))
    all_n, all_bad = int(crews["n"].sum()), int(crews["bad"].sum())
    found = {}
    for crew, n, bad in crews.iter_rows():
        if n < FEWEST_DOORS:
            found[crew] = Tested(None, None, n)
            continue
        expected = max(usual, (all_bad - bad) / max(all_n - n, 1))
        p_value = float(stats.binom.sf(bad - 1, n, expected))
        found[crew] = Tested(bad / n, p_value, n, bad / n - expected >= material)
    return found
