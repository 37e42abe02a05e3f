"""The lines of the study: what is asked of the figures, one function each, with the bound in each scenario."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import polars as pl

Frames = Mapping[str, pl.DataFrame]
Z95 = 1.959964
FULL_RECORDS = (
    "plain", "null", "confounded crews", "sloppy crews", "differing effects", "read after complaints", "late paper",
    "training", "messy life", "60 crews", "6 crews",
)  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One line: what is measured, and the bounds it has to keep.

    figure      one number from the frames of one scenario, or of all (pooled); None where nothing can be said
    low, high   bounds in every scenario but those in `other`, which have their own (low, high)
    only        the scenarios that are held to it; none named: all
    is_pooled   measured over all scenarios together
    """

    name: str
    part: str
    figure: Callable[[pl.DataFrame], float | None]
    low: float | None = None
    high: float | None = None
    other: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    only: tuple[str, ...] = ()
    is_pooled: bool = False

    def bounds(self, scenario: str) -> tuple[float | None, float | None]:
        """What the figure of a scenario is held to."""
        if self.only and scenario not in self.only:
            return None, None
        return self.other.get(scenario, (self.low, self.high))

    def holds(self, figure: float, scenario: str = "") -> bool:
        """Whether a figure keeps the bounds."""
        low, high = self.bounds(scenario)
        return (low is None or figure >= low) and (high is None or figure <= high)


def mean(rows: pl.DataFrame, value: pl.Expr) -> float | None:
    """The mean of an expression over the rows; None without any."""
    return None if rows.is_empty() else _number(rows.select(value.cast(pl.Float64).mean()).item())


def median(rows: pl.DataFrame, value: pl.Expr) -> float | None:
    """The median of an expression over the rows; None without any."""
    return None if rows.is_empty() else _number(rows.select(value.median()).item())


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)


def answered(pairs: pl.DataFrame) -> pl.DataFrame:
    """Pairs with an estimate."""
    return pairs.filter(pl.col("estimate").is_not_null())


COVERED = pl.col("total_effect").is_between(pl.col("low"), pl.col("high"))
CAN_BE_ANSWERED = (pl.col("ideal_contrast_se") <= 0.45) & (pl.col("events") >= 10)
FOUND_OF_TRUTH = pl.col("estimate") / pl.col("total_effect")
IDEAL_WIDTH = (pl.col("high") - pl.col("low")) / (2 * Z95 * pl.col("ideal_se"))


def causes(pairs: pl.DataFrame) -> pl.DataFrame:
    """Pairs that truly are cause and fault."""
    return pairs.filter("is_cause")


def strong(pairs: pl.DataFrame) -> pl.DataFrame:
    """Pairs called strong."""
    return pairs.filter(pl.col("evidence") == "strong")


def strong_of_ideal(pairs: pl.DataFrame) -> float | None:
    """Share of the causes that the ideal fit calls strong which the table calls strong."""
    return mean(causes(pairs).filter("is_strong_in_ideal"), pl.col("evidence") == "strong")


def first_right(causes: pl.DataFrame) -> float | None:
    """Share of the callbacks with a cause that truly accounts for a fifth or more whose first cause is told."""
    clear = causes.filter(pl.col("first_share") >= 0.2)
    return mean(clear, pl.col("first").fill_null("") == pl.col("true_first"))


def rank_correlation(steps: pl.DataFrame) -> float | None:
    """Spearman's correlation of measured and true share of doors out, the mean over firms and steps."""
    by = steps.group_by("scenario", "seed", "step").agg(pl.corr("out_share", "true_out_share", method="spearman"))
    return mean(by.filter(pl.col("out_share").is_finite()), pl.col("out_share"))


def totals(outlook: pl.DataFrame) -> pl.DataFrame:
    """The twelve months together."""
    return outlook.filter((pl.col("month") == "total") & pl.col("callbacks").is_not_null())


def is_doubted(credibility: pl.DataFrame) -> pl.DataFrame:
    """One row per crew: its habit, and whether any test calls its records doubtful."""
    return credibility.group_by("scenario", "seed", "crew").agg(
        pl.col("habit").first(), is_doubted=(pl.col("verdict") == "doubtful").any()
    )


def found(*habits: str) -> Callable[[pl.DataFrame], float | None]:
    """Share of the crews with these habits whose records are called doubtful."""
    return lambda table: mean(is_doubted(table).filter(pl.col("habit").is_in(habits)), pl.col("is_doubted"))


def honest_doubted(credibility: pl.DataFrame) -> float | None:
    """Share of crews without a habit whose records are called doubtful."""
    return mean(is_doubted(credibility).filter(pl.col("habit").is_null()), pl.col("is_doubted"))


COMES = pl.col("came").is_between(pl.col("callbacks_low"), pl.col("callbacks_high"))
OUTLOOK_WIDTH = (pl.col("callbacks_high") - pl.col("callbacks_low")) / pl.col("callbacks")
IS_TRAINED = pl.col("true_ratio").is_between(pl.col("ratio_low"), pl.col("ratio_high"))
IS_FAIR = pl.col("true_ratio").is_between(pl.col("fair_low"), pl.col("fair_high"))
IS_THROUGH = pl.col("true_steps").is_between(pl.col("steps_low"), pl.col("steps_high"))
IS_LEFT = pl.col("true_rest").is_between(pl.col("rest_low"), pl.col("rest_high"))
IS_LASTING = pl.col("lasting_ratio").is_between(pl.col("fair_low"), pl.col("fair_high"))
IS_WORTH = pl.col("true_priority").is_between(pl.col("priority_low"), pl.col("priority_high"))
POWER = {
    "noisy instruments": (0.65, None), "dishonest crew": (0.65, None), "differing effects": (0.65, None),
    "6 crews": (0.65, None), "35 % missing": (0.5, None), "missing because bad": (0.25, None), "null": (None, None),
}  # fmt: skip
SPOILT = ("noisy instruments", "missing because bad", "dishonest crew")

LINES = (
    Line("coverage, answered pairs", "pairs", lambda t: mean(answered(t), COVERED), 0.93,
         other=dict.fromkeys(SPOILT, (0.92, None))),
    Line("coverage, causes", "pairs", lambda t: mean(causes(answered(t)), COVERED), 0.90),
    # of what is called strong at most 12 % (5 % pooled) may be nothing, and of the rest 95 % should hold
    Line("coverage, strong claims", "pairs", lambda t: mean(strong(answered(t)), COVERED), 0.83,
         other={"null": (None, None)}),
    Line("nulls among strong", "pairs", lambda t: mean(strong(t), ~pl.col("is_cause")), high=0.12,
         other={"null": (None, None)}),
    Line("width / ideal", "pairs", lambda t: median(answered(t), IDEAL_WIDTH), high=1.2,
         other={"dishonest crew": (None, 1.25), "35 % missing": (None, 1.45), "missing because bad": (None, 1.8)}),
    Line("power / ideal", "pairs", strong_of_ideal, other=POWER),
    Line("answered", "pairs", lambda t: mean(t.filter(CAN_BE_ANSWERED), pl.col("estimate").is_not_null()), 0.93,
         other={"35 % missing": (0.85, None), "missing because bad": (0.65, None)}),
    Line("estimate / truth", "pairs", lambda t: median(causes(answered(t)), FOUND_OF_TRUTH),
         0.93, 1.07, other=dict.fromkeys(("noisy instruments", "dishonest crew"), (0.87, 1.07))),
    Line("cause shares, error", "causes", lambda t: mean(t, pl.col("error")), high=0.10),
    Line("cause shares, part misplaced", "causes", lambda t: mean(t, pl.col("misplaced")), high=0.25),
    Line("cause shares hold", "causes", lambda t: mean(t, pl.col("held")), 0.90,
         other={"noisy instruments": (0.85, None)}),
    Line("first cause right", "causes", first_right, 0.72),
    Line("out_share ranks", "steps", rank_correlation, 0.95, only=FULL_RECORDS),
    Line("priorities hold", "priority", lambda t: mean(t, IS_WORTH), 0.92),
    Line("priorities hold where there is something to spare", "priority",
         lambda t: mean(t.filter(pl.col("true_priority") > 0), IS_WORTH), 0.90),
    Line("fair ratios hold", "crews", lambda t: mean(t, IS_FAIR), None, other={"confounded crews": (0.88, None)}),
    Line("what goes through the steps holds", "crews", lambda t: mean(t, IS_THROUGH), 0.88,
         other=dict.fromkeys(("35 % missing", *SPOILT), (None, None))),
    Line("what is left of crews holds", "crews", lambda t: mean(t, IS_LEFT), 0.88,
         other=dict.fromkeys(("35 % missing", *SPOILT), (None, None))),
    Line("honest crews doubted", "credibility", honest_doubted, None),
    Line("outlook total holds", "outlook", lambda t: mean(totals(t), COMES), 0.90),
    Line("outlook width / total", "outlook", lambda t: median(totals(t), OUTLOOK_WIDTH), high=0.4),
    Line("recheck slope", "recheck", lambda t: mean(t.drop_nulls("slope"), pl.col("slope")), 0.8, 1.2,
         other={"null": (None, None)}),
    Line("recheck, sum told / true", "recheck", lambda t: mean(t, pl.col("told") / pl.col("true")), 0.9, 1.1),
    Line("recheck, spread told / true", "recheck", lambda t: mean(t, pl.col("spread") / pl.col("true_spread")),
         high=1.1),
    Line("training ratios hold", "training", lambda t: mean(t.filter(pl.col("ratio").is_not_null()), IS_TRAINED), 0.90),
    Line("curves hold at each value", "curves", lambda t: mean(t, pl.col("held")), 0.93),
    Line("curves of causes hold at each value", "curves", lambda t: mean(causes(t), pl.col("held")), 0.90),
    Line("1.5 times the risk held", "curves", lambda t: mean(t, pl.col("is_place_held")), 0.93),
    Line("1.5 times the risk held, pairs that reach it", "curves",
         lambda t: mean(t.filter(pl.col("true_place").is_not_null()), pl.col("is_place_held")), 0.90),
    Line("limits moved the right way, pooled", "curves", lambda t: mean(t, pl.col("is_advice_right")), 0.95,
         is_pooled=True),
    Line("nulls among strong, pooled", "pairs", lambda t: mean(strong(t), ~pl.col("is_cause")), high=0.05,
         is_pooled=True),
    Line("coverage, strong claims, pooled", "pairs", lambda t: mean(strong(answered(t)), COVERED), 0.90,
         is_pooled=True),
    Line("power / ideal, scenarios without a bound of their own pooled", "pairs",
         lambda t: strong_of_ideal(t.filter(~pl.col("scenario").is_in(list(POWER)))), 0.77, is_pooled=True),
    Line("fair ratios hold, pooled", "crews", lambda t: mean(t, IS_FAIR), 0.92, is_pooled=True),
    Line("fair ratios hold what the crew would do on new doors, pooled", "crews", lambda t: mean(t, IS_LASTING), 0.92,
         is_pooled=True),
    Line("outlook total holds, pooled", "outlook", lambda t: mean(totals(t), COMES), 0.90, 0.98, is_pooled=True),
    Line("copied rows and flat sills found", "credibility", found("copied", "flat"), 0.9, is_pooled=True),
    Line("heaping inside a limit found", "credibility", found("heaped"), 0.5, is_pooled=True),
    Line("honest crews doubted, pooled", "credibility", honest_doubted, high=0.015, is_pooled=True),
    Line("crews that only round doubted", "credibility", found("rounded"), high=0.0, is_pooled=True),
)  # fmt: skip
