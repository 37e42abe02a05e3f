"""Holds the width of a door against its leaves: a width that no leaf can have, but that fits in another unit, is not
taken in. Where no other unit fits either, the number of leaves may as well be wrong, and the width is taken as written.

Where no unit was said, the leaves tell units apart that the width alone does not.
"""

import polars as pl

from pipeline.ingest.judging.cells import problem_of, rule_of, text_of
from pipeline.ingest.judging.own_units import fitting
from pipeline.ingest.records import INSTALLS
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.numbers import read_number
from pipeline.ingest.texts.words import any_of

# Millimetres of width to a leaf. Common practice, no source: narrower or wider ones are not made, and are rare.
POSSIBLE = (150.0, 3_000.0)
_USUAL = (300.0, 1_600.0)
_WIDTH = INSTALLS.column("width_mm")


def settle_widths(frame: pl.DataFrame, manners: Manners) -> pl.DataFrame:
    """The judged installs with widths held against the number of leaves, where both are recorded."""
    keys = [text_of("width_mm"), "width_mm", "leaves"]
    cases = frame.filter(pl.all_horizontal(pl.col(text_of("width_mm"), "leaves").is_not_null())).select(keys).unique()
    if not cases.height:
        return frame
    schema = {"settled": pl.Float64, "how": pl.String, "trouble": pl.String}
    found = pl.DataFrame([_settled(manners, *case) for case in cases.rows()], schema=schema, orient="row")
    frame = frame.join(
        pl.concat([cases, found], how="horizontal"), on=keys, how="left", nulls_equal=True, maintain_order="left"
    )
    is_settled, is_wrong = pl.col("settled").is_not_null(), pl.col("trouble").is_not_null()
    return frame.with_columns(
        pl.when(~is_wrong).then(pl.coalesce("settled", "width_mm")).alias("width_mm"),
        pl.coalesce("how", rule_of("width_mm")).alias(rule_of("width_mm")),
        pl.when(~is_settled).then(pl.coalesce("trouble", problem_of("width_mm"))).alias(problem_of("width_mm")),
    ).drop("settled", "how", "trouble")


def _settled(
    manners: Manners, text: str, width: float | None, leaves: int
) -> tuple[float | None, str | None, str | None]:
    """(width in mm, how it was read, what is wrong with it); all None where nothing changes."""
    number, _ = read_number(text, manners.mark("width_mm"))
    if number is None:
        return None, None, None
    found = {} if number.unit else fitting(_WIDTH, number.value)
    usual = {unit: value for unit, value in found.items() if _is_between(value / leaves, _USUAL)}
    if width is None and manners.units.get("width_mm") == "" and len(found) > 1 and len(usual) == 1:
        ((unit, value),) = usual.items()
        return value, f"{unit}, the only unit plausible for {leaves} leaves", None
    if width is None or not usual or _is_between(width / leaves, POSSIBLE):
        return None, None, None
    hints = [f"{value:,.10g} if it is in {unit}" for unit, value in usual.items()]
    return None, None, f"{width:,.10g} mm over {leaves} leaves is not plausible; write {any_of(hints)}"


def _is_between(value: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] <= value <= bounds[1]
