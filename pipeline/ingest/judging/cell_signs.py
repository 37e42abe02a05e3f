"""The sign of a reading: of its own, of a side or person that the firm declares, of a plain word, of its column.

Says never more than is written: where two of them contradict each other the value is not taken.
"""

from dataclasses import dataclass

import polars as pl

from pipeline.catalogue import Sign
from pipeline.ingest.judging.cells import problem_of, rule_of, text_of
from pipeline.ingest.texts.directions import IN_OR_OUT, factor_of
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.words import plain

_WRITTEN, _TURNED = "sign written", "is turned"
_CONTRADICT = "its sign and '{}' beside it say two ways; write one of them"
_IN_OR_OUT = (
    "'{}' can be a way or a reading that is out of true, and no cell of this measure in the sheet says the other way; "
    'write the sign instead, or say under [[sign]] in fitback.toml what it means: text = "{}", sign = "+" or "-"'
)
_NOT_DECLARED = (
    "'{}' beside the number is not understood; write the number alone, with its sign, "
    'or say under [[sign]] in fitback.toml what it means: text = "{}", sign = "+" or "-"'
)


@dataclass(frozen=True)
class _Case:
    """What stands beside numbers that are signed alike. written: + or -, where a sign stands before the number."""

    side: str | None
    measure: str | None
    read_by: str | None
    written: str | None
    is_turned: bool


def with_signs(frame: pl.DataFrame, signs: tuple[Sign, ...], manners: Manners, side: str) -> pl.DataFrame:
    """The readings with their numbers turned where they are of the other sign, and that added to their rule.

    side  the column of the word beside the number
    A side that neither the firm nor the trade gives a sign, or that contradicts the number's own, is its problem.
    """
    has_plain = any(sign.text is None for sign in signs)
    turned = pl.col("row").is_in(pl.Series(sorted(manners.turned), dtype=pl.Int64).implode())
    text, has_side = pl.col(text_of("value")).str.slice(0, 1), pl.col(side).is_not_null()
    frame = frame.with_columns(
        pl.when(has_side & (text == "+")).then(pl.lit("+")).when(has_side & text.is_in(["-", "\u2212"]))
        .then(pl.lit("-")).alias(_WRITTEN),
        (turned if manners.turned else pl.lit(False)).alias(_TURNED),
    )  # fmt: skip
    keys = [side, "measure", "read_by", _WRITTEN, _TURNED]
    is_case = pl.col("value").is_not_null() & (pl.lit(has_plain) | has_side | pl.col(_TURNED))
    cases = frame.filter(is_case).select(keys).unique(maintain_order=True)
    if not cases.height:
        return frame.drop(_WRITTEN, _TURNED)
    answers = [_sign(signs, _Case(*case), manners) for case in cases.rows()]
    schema = {"turn": pl.Float64, "more": pl.String, "trouble": pl.String}
    found = pl.concat([cases, pl.DataFrame(answers, schema=schema, orient="row")], how="horizontal")
    frame = frame.join(found, on=keys, how="left", nulls_equal=True, maintain_order="left")
    # adding zero turns -0.0 into 0.0
    factor = pl.when(is_case).then(pl.col("turn")).fill_null(1.0)
    return frame.with_columns(
        (pl.col("value") * factor + 0.0).alias("value"),
        added(rule_of("value"), pl.when(is_case).then(pl.col("more"))).alias(rule_of("value")),
        pl.coalesce(problem_of("value"), pl.when(is_case).then(pl.col("trouble"))).alias(problem_of("value")),
    ).drop("turn", "more", "trouble", _WRITTEN, _TURNED)


def _sign(signs: tuple[Sign, ...], case: _Case, manners: Manners) -> tuple[float, str | None, str | None]:
    """(factor, rule, what is wrong) of numbers with the same words beside them."""
    declared = _declared(signs, case)
    column = -1.0 if case.is_turned else 1.0
    if case.side is None:
        factor = column * (declared.factor if declared else 1.0)
        told = [f"{case.read_by} means minus"] if declared and declared.factor < 0 else []
        told += ["plus and minus are exchanged in its column"] if case.is_turned else []
        return factor, ", ".join(told) or None, None
    is_way = case.measure in manners.in_or_out
    said = declared.factor if declared else factor_of(case.measure or "", case.side, is_way)
    if said is None:
        is_bare = factor_of(case.measure or "", case.side, is_way=True) is not None
        trouble = _IN_OR_OUT if is_bare and case.side.casefold() in IN_OR_OUT else _NOT_DECLARED
        return 1.0, None, trouble.format(case.side, case.side)
    written = -1.0 if case.written == "-" else 1.0
    if case.written and written * column != said:
        return 1.0, None, _CONTRADICT.format(case.side)
    return said * written, f"{case.side} means {'minus' if said < 0 else 'plus'}", None


def _declared(signs: tuple[Sign, ...], case: _Case) -> Sign | None:
    """Of the signs that the firm declares for a side or person, the one that says the most of where it holds."""
    wanted = plain(case.side) if case.side else None
    found = [
        sign
        for sign in signs
        if (plain(sign.text) if sign.text else None) == wanted
        and sign.measure in (None, case.measure)
        and (sign.read_by is None or (case.read_by is not None and plain(sign.read_by) == plain(case.read_by)))
    ]
    return max(found, key=lambda sign: (sign.read_by is not None, sign.measure is not None)) if found else None


def added(name: str, more: pl.Expr) -> pl.Expr:
    """The rules of a column with one more; null where there is none at all."""
    joined = pl.concat_str(pl.col(name), more, separator=", ", ignore_nulls=True)
    return pl.when(joined != "").then(joined)
