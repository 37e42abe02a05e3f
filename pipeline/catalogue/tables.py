"""The catalogue as source tables of the results: catalogue_measures, _deviations, _limits and so on."""

import tomllib
from collections.abc import Sequence
from dataclasses import fields
from datetime import date
from importlib.resources import files
from typing import Any, get_type_hints

import polars as pl

from pipeline.catalogue.rows import Catalogue, Deviation, Expectation, Fault, Gap, Limit, Measure, Pair

_TYPES: dict[Any, pl.DataType] = {
    str: pl.String(),
    str | None: pl.String(),
    float: pl.Float64(),
    float | None: pl.Float64(),
    bool: pl.Boolean(),
    date | None: pl.Date(),
}


def catalogue_tables(catalogue: Catalogue) -> dict[str, pl.DataFrame]:
    """Source tables by name. catalogue_deviations has `ordinal` (file order), `step_order` (1 to 8) and `minutes`."""
    steps = pl.DataFrame(
        {"step": catalogue.steps, "step_order": range(1, len(catalogue.steps) + 1)},
        schema={"step": pl.String, "step_order": pl.Int64},
    )
    deviations = _frame(Deviation, catalogue.deviations).with_row_index("ordinal").cast({"ordinal": pl.Int64})
    return {
        "catalogue_measures": _frame(Measure, catalogue.measures).drop("extra"),
        "catalogue_deviations": _with_minutes(deviations.join(steps, on="step", how="left", maintain_order="left")),
        "catalogue_limits": _frame(Limit, catalogue.limits),
        "catalogue_faults": _frame(Fault, catalogue.faults),
        "catalogue_pairs": _frame(Pair, catalogue.pairs),
        "catalogue_gaps": _frame(Gap, catalogue.gaps),
        "catalogue_expectations": _frame(Expectation, catalogue.expectations),
    }


def _with_minutes(deviations: pl.DataFrame) -> pl.DataFrame:
    """minutes: to look at it again on one door; of a firm's own, what is usual in its step."""
    told = tomllib.loads(files("pipeline.catalogue").joinpath("minutes.toml").read_text(encoding="utf-8"))
    usual = pl.col("step").replace_strict(told["step"], return_dtype=pl.Float64)
    own = pl.col("name").replace_strict(told["deviation"], default=None, return_dtype=pl.Float64)
    return deviations.with_columns(minutes=pl.coalesce(own, usual))


def _frame(row_type: type, rows: Sequence[object]) -> pl.DataFrame:
    hints = get_type_hints(row_type)
    return pl.DataFrame(
        {field.name: [getattr(row, field.name) for row in rows] for field in fields(row_type)},
        schema={field.name: _TYPES.get(hints[field.name], pl.List(pl.String)) for field in fields(row_type)},
    )
