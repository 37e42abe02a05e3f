"""Which door a callback has, given the scores of its pairs: at most one, else its house, else none.

The odds of all doors compete: the chance of a door is its odds over those of all doors and of none of them, so two
doors that fit equally well can never both be taken.
"""

import polars as pl

# On the simulated damage of tests/ingest/linking 0.8 finds 98 in 100 true links with 2 in 1,000 false (harsher: 93, 1).
SURE = 0.8
DOUBTFUL = 0.2
MOST_CANDIDATES = 5

CANDIDATES = {
    "callback_id": pl.String, "install_id": pl.String, "site": pl.String, "probability": pl.Float64,
    "site_probability": pl.Float64, "site_doors": pl.Int32, "why": pl.String,
}  # fmt: skip
MATCHES = {
    "callback_id": pl.String, "install_id": pl.String, "probability": pl.Float64, "site": pl.String,
    "site_doors": pl.Int32, "site_probability": pl.Float64, "is_reviewed": pl.Boolean,
}  # fmt: skip

# column: words by level, worst first after "not written" (-1)
_WORDS = {
    "place": {8: "same address", 7: "same house", 6: "same postcode and number", 5: "same street",
              4: "same postcode", 3: "same house, other postcode", 2: "near", 1: "same district", 0: "other place"},
    "surname": {2: "same surname", 1: "similar surname", 0: "other surname"},
    "initial": {0: "other initial"},
    "job": {2: "same job number", 1: "similar job number", 0: "other job number"},
    "days": {4: "reported long before fitting", 3: "reported before handover"},
    "removal": {1: "door was removed"},
    "leaves": {1: "same leaves", 0: "other leaves"},
    "width": {1: "same width", 0: "other width"},
}  # fmt: skip


def candidates_of(pairs: pl.DataFrame) -> pl.DataFrame:
    """The pairs with their probability, best first within a callback; columns as CANDIDATES."""
    odds = pl.lit(2.0).pow(pl.col("weight").clip(-60, 60))
    chance = odds / (1 + odds.sum().over("callback_id"))
    return (
        pairs.with_columns(chance.alias("probability"))
        .with_columns(
            pl.col("probability").sum().over("callback_id", "site").alias("site_probability"),
            pl.len().over("callback_id", "site").cast(pl.Int32).alias("site_doors"),
            _why().alias("why"),
        )
        .select(*CANDIDATES)
        .sort("callback_id", "probability", "install_id", descending=[False, True, False])
    )


def matches_of(candidates: pl.DataFrame, callback_ids: pl.Series) -> pl.DataFrame:
    """One row per callback: its door where one is sure, else its house where that is; columns as MATCHES."""
    best = candidates.unique("callback_id", keep="first", maintain_order=True)
    house = (
        candidates.sort("callback_id", "site_probability", descending=[False, True], maintain_order=True)
        .unique("callback_id", keep="first", maintain_order=True)
        .filter(pl.col("site_probability") >= SURE)
        .select("callback_id", "site", "site_doors", "site_probability")
    )
    return (
        pl.DataFrame({"callback_id": callback_ids}, schema={"callback_id": pl.String})
        .join(best.select("callback_id", "install_id", "probability"), on="callback_id", how="left")
        .join(house, on="callback_id", how="left")
        .with_columns(
            pl.when(pl.col("probability") >= SURE).then(pl.col("install_id")).alias("install_id"),
            pl.lit(False).alias("is_reviewed"),
        )
        .select(*MATCHES)
        .sort("callback_id")
    )


def doubtful_candidates(candidates: pl.DataFrame, matches: pl.DataFrame) -> pl.DataFrame:
    """The best few candidates of callbacks that have no door yet but may have one."""
    open_ones = matches.filter(pl.col("install_id").is_null() & ~pl.col("is_reviewed"))
    likely = (pl.col("probability").max().over("callback_id") >= DOUBTFUL) | (pl.col("site_probability") >= SURE)
    return (
        candidates.join(open_ones.select("callback_id"), on="callback_id", how="semi", maintain_order="left")
        .filter(likely & (pl.col("probability") >= 0.01))
        .group_by("callback_id", maintain_order=True)
        .head(MOST_CANDIDATES)
    )


def _why() -> pl.Expr:
    words = [
        pl.col(name).cast(pl.Int32).replace_strict(levels, default=None, return_dtype=pl.String)
        for name, levels in _WORDS.items()
    ]
    return pl.concat_str(words, separator=", ", ignore_nulls=True)
