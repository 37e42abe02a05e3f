"""Whether it is getting better: the last twelve months against the twelve before, no more than the interval bears."""

from pipeline.report.numbers import counted, month
from pipeline.report.rows.year_rows import YearChange

NOT_YET = "Whether it gets better cannot be told yet: that takes two whole years of callback log."
NOT_CORRECTED = "How late paper comes is not recorded; if some is on its way, this looks better than it is."


def says(found: YearChange | None) -> str:
    """The answer in a sentence or two."""
    if found is None:
        return NOT_YET
    counts = f"{counted(found.callbacks, 'callback')} on known doors in the twelve months to {month(found.last_month)}"
    if found.times is None:
        few = f"{counts}, after {found.callbacks_before:,}, are too few"
        return f"Whether it gets better cannot be told: {few}."
    often = f"{found.times.words(unit=' times')} as often as in the twelve before on doors of the same age"
    late = "" if found.is_corrected else f" {NOT_CORRECTED}"
    return f"{_verdict(found.times.side)}: {counts}, {often}.{late}"


def in_short(found: YearChange | None) -> str:
    """The answer where there is one, for the letter."""
    if found is None or found.times is None:
        return ""
    return f"{_verdict(found.times.side)}: {found.times.words(unit=' times')} as often, on doors of the same age."


def _verdict(side: int) -> str:
    verdicts = {1: "Callbacks come more often than a year ago", -1: "Callbacks come less often than a year ago"}
    return verdicts.get(side, "Neither better nor worse than a year ago, as far as can be told")
