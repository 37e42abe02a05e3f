"""The invented account of intake: files, what was set aside, what the checks of the records found."""

import polars as pl

from pipeline.catalogue import load_catalogue
from tests.report.samples import corrections

FILES = [
    ("installs", "installs.csv", "taken in", None, 1530, 1512, 14, 4),
    ("readings", "readings 2024.csv", "taken in", None, 31500, 31322, 61, 117),
    ("readings", "readings 2025.xlsx", "taken in", None, 28440, 28402, 30, 8),
    ("checks", "checks.csv", "taken in", None, 25311, 25300, 11, 0),
    ("callbacks", "callbacks.csv", "taken in", None, 470, 461, 9, 0),
    (None, "photos.zip", "not read", "not a file of records", 0, 0, 0, 0),
]
SET_ASIDE = [
    (
        "readings 2024.csv",
        None,
        5172,
        "value",
        "ok",
        "value 'ok' is not a number; write the reading",
        "readings",
        "row",
    ),
    (
        "readings 2024.csv",
        None,
        5190,
        "value",
        "tick",
        "value 'tick' is not a number; write the reading",
        "readings",
        "row",
    ),
    (
        "installs.csv",
        None,
        88,
        "fitted_on",
        "31/02/2025",
        "fitted_on '31/02/2025' is no day; write 2025-02-28",
        "installs",
        "row",
    ),
    (
        "callbacks.csv",
        None,
        12,
        "fault",
        "drippy",
        "fault 'drippy' is not known; did you mean draught?",
        "callbacks",
        "cell",
    ),
]
UNREAD = [
    ("callbacks.csv", None, "van", None, "no such column", "callbacks has no such column; rename it"),
    ("readings 2025.xlsx", "Jan", "Photo", 412, "no place", "no place was found for it; name it"),
    ("readings 2025.xlsx", "Feb", "Photo", 396, "no place", "no place was found for it; name it"),
    ("readings 2025.xlsx", "Feb", "Sill mid", 37, "new", "new, the mapping does not know it; name it"),
    ("readings 2025.xlsx", "Feb", "Lorry", 37, "left out", "left out in fitback.toml"),
]
CHECKS = [
    ("handover_before_fitting", "installs", 1512, 3, "3 doors were handed over before they were fitted"),
    ("callback_after_removal", "callbacks", 461, 0, "no callback is dated after its door was removed"),
]

EXPECTATIONS = [
    ("two to eight leaves", "installs", "met", 1512, 0, None, "As expected, 1,512 looked at"),
    ("our widths", "installs", "not met", 1500, 12, "D-0042", "12 of 1,500 doors are wider than we build"),
    ("a typing error", "crews", "not evaluated", None, None, None, "Could not be evaluated: a typing error"),
]


def intake() -> dict[str, pl.DataFrame]:
    """The account, what was set aside, the checks of the records."""
    names = ("record", "file", "status", "reason", "rows_read", "rows_taken_in", "rows_set_aside", "rows_repeated")
    unread_names = ("file", "sheet", "heading", "cells", "state", "reason")
    aside_names = ("file", "sheet", "row", "column", "value", "reason", "record", "scope")
    check_names = ("check", "record", "rows_checked", "rows_failing", "sentence")
    expectation_names = ("expectation", "record", "outcome", "rows_checked", "rows_failing", "example", "sentence")
    aside = pl.DataFrame(SET_ASIDE, schema=aside_names, orient="row")
    return {
        "intake_account": pl.DataFrame(FILES, schema=names, orient="row").with_columns(part=1),
        "set_aside": aside.with_columns(pl.col("sheet").cast(pl.String)),
        "corrections": corrections(),
        "unread_columns": pl.DataFrame(UNREAD, schema=unread_names, orient="row").with_row_index("ordinal", 1),
        "data_checks": pl.DataFrame(CHECKS, schema=check_names, orient="row"),
        "expectation_checks": pl.DataFrame(EXPECTATIONS, schema=expectation_names, orient="row"),
    }


def recorded_steps(crews: tuple[str, ...], doors: int = 151, recorded: int = 128) -> pl.DataFrame:
    """Every crew records every step but the survey on as many doors."""
    rows = []
    for crew in (*crews, "all"):
        times = len(crews) if crew == "all" else 1
        for order, step in enumerate(load_catalogue({}).steps, 1):
            n_recorded = 0 if step == "survey" else recorded * times
            rows.append(
                {"crew": crew, "step": step, "step_order": order, "doors": doors * times,
                 "doors_recorded": n_recorded, "recorded_share": n_recorded / (doors * times)}
            )  # fmt: skip
    return pl.DataFrame(rows)
