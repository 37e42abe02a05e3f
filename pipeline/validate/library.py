"""Great Expectations, kept quiet: no telemetry, no files, no progress bars, no log lines. Imported only when asked for.

It costs a second or two to import, and over DuckDB it does not work, so it sees small pandas frames only.
"""

import logging
import os
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from functools import cache
from io import StringIO
from typing import TYPE_CHECKING, Any

from pipeline.errors import did_you_mean

if TYPE_CHECKING:
    import pandas as pd

Result = Any
NO_TELEMETRY = "GX_ANALYTICS_ENABLED"


class NotEvaluated(Exception):
    """An expectation that says nothing about the rows. The message says why, as part of a sentence."""


@cache
def _library() -> Any:
    os.environ[NO_TELEMETRY] = "false"  # it is read on import
    import great_expectations

    logging.getLogger("great_expectations").setLevel(logging.CRITICAL)
    return great_expectations


@cache
def _whole_frame() -> Any:
    """What makes a batch of a whole frame; made once, as the library writes its settings out at every step of it."""
    context = _library().get_context(mode="ephemeral")
    context.variables.progress_bars = {"globally": False}
    asset = context.data_sources.add_pandas("records").add_dataframe_asset("rows")
    return asset.add_batch_definition_whole_dataframe("all")


def validator_of(frame: "pd.DataFrame") -> Callable[[str, dict[str, Any]], Result]:
    """A function of an expectation's name and keywords that gives the library's result on the rows of `frame`.

    It raises NotEvaluated where there is no such expectation, where it does not take these keywords, or where it
    failed on the rows: the library then says only that it has not succeeded.
    """
    batch = _whole_frame().get_batch({"dataframe": frame})

    def validate(expect: str, keywords: dict[str, Any]) -> Result:
        with _quiet():
            expectation = _made(expect, keywords)
            try:
                result = batch.validate(expectation)
            except Exception as error:  # whatever goes wrong in it says nothing about the records
                raise NotEvaluated(_first_line(str(error))) from error
        failure = _failure(result.exception_info)
        if failure is not None:
            raise NotEvaluated(_first_line(failure))
        return result

    return validate


@contextmanager
def _quiet() -> Iterator[None]:
    """Keeps what the library prints and warns of out of our own answers, which another program may read."""
    with redirect_stdout(StringIO()), redirect_stderr(StringIO()), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _made(expect: str, keywords: dict[str, Any]) -> Any:
    _library()
    from great_expectations.exceptions import ExpectationNotFoundError
    from great_expectations.expectations.expectation_configuration import ExpectationConfiguration
    from great_expectations.expectations.registry import list_registered_expectation_implementations

    try:
        return ExpectationConfiguration(type=expect, kwargs=keywords).to_domain_obj()
    except ExpectationNotFoundError:
        hint = did_you_mean(expect, list_registered_expectation_implementations()) or "; there is none of that name"
        raise NotEvaluated(f"'{expect}' is not an expectation{hint}") from None
    except Exception as error:
        raise NotEvaluated(_refused(expect, error)) from None


def _refused(expect: str, error: Exception) -> str:
    """What is wrong with the keywords: the library lists every kind that a value might have had."""
    lines = error.errors() if hasattr(error, "errors") else []
    for line in lines:
        key = str(line["loc"][0])
        if key == "__root__":
            continue
        if line["type"] == "value_error.extra":
            return f"{expect} takes no '{key}'"
        if line["type"] == "value_error.missing":
            return f"{expect} needs '{key}'"
        return f"{key} is not of the kind that {expect} takes"
    return _first_line(lines[0]["msg"] if lines else str(error))


def _failure(info: dict[str, Any]) -> str | None:
    """The message of the first exception, whether the library gives one for all or one for each metric."""
    for part in (info, *(value for value in info.values() if isinstance(value, dict))):
        if part.get("raised_exception"):
            return str(part.get("exception_message") or "it failed without a message")
    return None


def _first_line(text: str) -> str:
    line = (text.strip().splitlines() or ["it failed without a message"])[0].removeprefix("Error: ")
    return line[:200].rstrip(" .")
