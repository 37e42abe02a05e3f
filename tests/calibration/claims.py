"""What the pages tell of claims called strong: how often their interval held the truth, by kind of firm, as TOML."""

from datetime import date

import polars as pl

from pipeline.demo.scenarios import DOORS, SCENARIOS
from pipeline.stats.intervals import share_interval
from tests.calibration.lines import COVERED, FOUND_OF_TRUTH, answered, causes, strong

HEAD = """# Claims called strong on simulated firms whose truth is known; written by `make calibrate`, shown on
# the methods sheet. held: claims whose 95 % interval held the truth; false: claims of what has no effect, which never
# hold; share with its 95 % interval (Wilson, fewer claims where those of a firm are alike); found_over_true: middle
# ratio of estimate and truth, real causes only.
measured_on = {day}
seed = {seed}
doors = {doors}
"""


def claims_file(pairs: pl.DataFrame, seed: int, day: date) -> str:
    """The whole file: a table `[all]`, then one `[[scenario]]` for each kind of firm with a strong claim."""
    claims = strong(answered(pairs)).with_columns(is_held=COVERED, found_over_true=FOUND_OF_TRUTH)
    parts = [HEAD.format(day=day.isoformat(), seed=seed, doors=DOORS)]
    if not claims.is_empty():
        parts.append(_table("[all]", "", claims, pairs["seed"].n_unique()))
    for name in SCENARIOS:
        rows, firms = claims.filter(pl.col("scenario") == name), pairs.filter(pl.col("scenario") == name)["seed"]
        if not rows.is_empty():
            parts.append(_table("[[scenario]]", name, rows, firms.n_unique()))
    return "\n".join(parts)


def _as_if_apart(claims: pl.DataFrame) -> tuple[float, float]:
    """Claims that held and all, as many as tell as much if no two were of one firm; never more than there are."""
    n, share = claims.height, float(claims["is_held"].mean() or 0.0)
    by_firm = claims.group_by("seed").agg(off=(pl.col("is_held") - share).sum())["off"].to_numpy()
    variance = float(by_firm @ by_firm) / n**2 * len(by_firm) / max(len(by_firm) - 1, 1)
    apart = min(share * (1 - share) / variance, n) if variance > 0 else n
    return share * apart, apart


def _table(head: str, name: str, claims: pl.DataFrame, firms: int) -> str:
    held = int(claims["is_held"].sum())
    real = causes(claims)
    share = share_interval(*_as_if_apart(claims))
    lines = [head, *([f'name = "{name}"'] if name else []), f"firms = {firms}", f"claims = {claims.height}"]
    lines += [f"held = {held}", f"false = {claims.height - real.height}"]
    ends = {"share": share.estimate, "share_low": share.low, "share_high": share.high}
    if not real.is_empty():
        ends["found_over_true"] = real["found_over_true"].median()
    return "\n".join([*lines, *(f"{key} = {float(value):.3f}" for key, value in ends.items()), ""])
