"""Curves of risk and limit advice beside the truth: log hazards are straight, so where risk is 1.5 times is known."""

import numpy as np
import polars as pl

from pipeline.demo.simulate import Firm

PAIR = ["fault", "deviation"]
LEVEL = float(np.log(1.5))
TABLES = ("dose_response", "limit_advice")


def curves(firm: Firm, tables: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """One row per pair of a cause with a curve that the trade expects: others have one only where they show evidence.

    is_cause; evidence; held: share of its points (but the reference) whose interval holds the truth; true_place: value
    with 1.5 times the risk, null where that is not within the data; is_place_held; advice; is_advice_right: of tighten
    and loosen, whether the true place lies on the side that the advice says
    """
    worse = {row.name: -1.0 if row.worse == "lower" else 1.0 for row in firm.catalogue.deviations}
    truth = firm.truth.select(*PAIR, "is_cause", slope=pl.col("log_ratio") / pl.col("per"))
    points = tables["dose_response"].filter(pl.col("value") != pl.col("reference")).join(truth, on=PAIR)
    true_ratio = (pl.col("slope") * (pl.col("value") - pl.col("reference"))).exp()
    held = points.group_by(PAIR).agg(held=true_ratio.is_between(pl.col("hr_low"), pl.col("hr_high")).mean())
    sign = pl.col("deviation").replace_strict(worse, return_dtype=pl.Float64)
    found = tables["limit_advice"].join(truth, on=PAIR).join(held, on=PAIR).with_columns(sign=sign)
    place = pl.col("reference") + pl.lit(LEVEL) / pl.col("slope")
    is_within = (pl.col("slope") * pl.col("sign") > 0) & ((pl.col("data_end") - place) * pl.col("sign") >= 0)
    soonest = pl.when(pl.col("sign") > 0).then("limit_low").otherwise("limit_high")
    latest = pl.when(pl.col("sign") > 0).then("limit_high").otherwise("limit_low")
    expected = pl.DataFrame([(pair.fault, pair.deviation) for pair in firm.catalogue.pairs], schema=PAIR, orient="row")
    kept = [
        "is_cause",
        "evidence",
        "held",
        "true_place",
        "limit_risk_1_5",
        "is_place_held",
        "advice",
        "is_advice_right",
    ]
    return (
        found.join(expected, on=PAIR, how="semi")
        .with_columns(true_place=pl.when(is_within).then(place), soonest=soonest, latest=latest)
        .with_columns(is_place_held=_is_held(), is_advice_right=_is_right())
        .select(*PAIR, *kept)
    )


def _is_held() -> pl.Expr:
    """The interval holds the true place, an end beyond the data left open; without one, it is not said to be there."""
    begins = ((pl.col("true_place") - pl.col("soonest")) * pl.col("sign") >= 0).fill_null(False)
    ends = ((pl.col("latest") - pl.col("true_place")) * pl.col("sign") >= 0).fill_null(True)
    return pl.when(pl.col("true_place").is_not_null()).then(begins & ends).otherwise(pl.col("latest").is_null())


def _is_right() -> pl.Expr:
    """Tighten: risk truly is 1.5 times before the limit; loosen: it is not."""
    before = ((pl.col("limit_now") - pl.col("true_place")) * pl.col("sign") > 0).fill_null(False)
    return pl.when(pl.col("advice") == "tighten").then(before).when(pl.col("advice") == "loosen").then(~before)
