"""The part of the methods sheet about what the instruments' own scatter hides of a finding."""

from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, count, counted, listed, percent
from pipeline.report.reading import Results
from pipeline.report.rows.method_rows import Blur
from pipeline.report.sheet import Block, Table
from pipeline.report.words.common import pair

COLUMNS = (
    "deviation",
    "fault",
    "reliable",
    "as often, as reported (95 %)",
    "without the blur (95 %)",
    "doors",
    "their reading error known",
    "from readings taken twice",
    "verdict",
)
HOW = (
    "Reliable: the part of the differences between doors, alike in crew and earlier work, that is not the scatter of "
    "the readings. Scatter makes an effect look smaller than it is. Above 70 % the ratio is corrected for it, roughly "
    "where the deviation is a largest reading; below, the instrument cannot tell how strong the effect is, though its "
    "direction stands. Where no place was read twice on one day only the rounding is known, and scatter beyond it is "
    "not corrected: reading twenty doors twice tells it. A check has no reading."
)
CANNOT_TELL, CORRECTED = "the instrument cannot tell", "corrected"


def blur_table(results: Results) -> list[Block]:
    """Every finding with its reliability; nothing where nothing is found."""
    blurs = results.blurs()
    if not blurs:
        return []
    frame = download("instrument_blur", results.table("instrument_blur"))
    rows = tuple(_cells(blur) for blur in blurs)
    return [Table("blur", says(blurs), COLUMNS, rows, HOW, frozenset({2, 5, 6, 7}), frame)]


def says(blurs: list[Blur]) -> str:
    """How many findings the instruments can and cannot tell the strength of."""
    blind = [pair(blur) for blur in blurs if blur.verdict == CANNOT_TELL]
    if blind:
        return f"The instrument cannot tell how strong it is: {listed(blind, most=3)}"
    corrected = sum(blur.corrected is not None for blur in blurs)
    if not corrected:
        return f"What the instruments hide is not known for any of {counted(len(blurs), 'finding')}"
    if all(blur.verdict != CORRECTED for blur in blurs):
        return (
            f"What the instruments hide is known only as far as rounding goes, for {count(corrected)} of "
            f"{counted(len(blurs), 'finding')}: have some doors read twice"
        )
    return f"What the instruments hide: known for {count(corrected)} of {counted(len(blurs), 'finding')}"


def _cells(blur: Blur) -> tuple[str, ...]:
    return (
        as_name(blur.words),
        as_name(blur.fault_words),
        percent(blur.reliability) if blur.reliability is not None else "",
        blur.times.words(unit=" times") if blur.times else "",
        blur.corrected.words(unit=" times") if blur.corrected else "",
        count(blur.doors),
        count(blur.doors_known),
        count(blur.doors_repeated),
        blur.verdict,
    )
