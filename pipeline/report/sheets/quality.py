"""Sheet 2, causes: what comes back, and why; for the quality manager."""

from collections.abc import Callable

import polars as pl

from pipeline.report.charts.causes import avoidable_chart, ratio_chart
from pipeline.report.charts.pairs import pairs_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import as_name, bare_times, capital, count, counted, percent, plain
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import Effect, Firm
from pipeline.report.sheet import SHEETS, Block, Figure, Item, Listing, Sheet, Table, TitleBlock
from pipeline.report.sheets.beside_causes import symptoms_table, variants_table
from pipeline.report.sheets.causes_found import found_table
from pipeline.report.sheets.dose import dose_blocks
from pipeline.report.sheets.examples import example_blocks
from pipeline.report.sheets.first_causes import first_cause_figure, first_cause_table
from pipeline.report.sheets.limits import limit_blocks
from pipeline.report.sheets.open_questions import flow_figure, needed_figure
from pipeline.report.sheets.parts import parts_blocks
from pipeline.report.words import causes as words
from pipeline.report.words.causes_found import first_limit
from pipeline.report.words.common import (
    ASSOCIATION,
    DEFER,
    EVIDENCE,
    SITE_WORK,
    pair,
    sentence,
    who_was_counted,
    with_unit,
)

NAME = SHEETS[1]
MOST_ROWS, MOST_OTHERS = 10, 3  # so that headline and figure share a page of A4
MOST_OPEN_ROWS = 60
HOW_RANKED = (
    "Callbacks a year that go with each cause, had every door been at its limit; lines are 95 % intervals. Under the "
    "name: first callbacks, and doors behind it. A dot: strong evidence; a blue diamond: a hint; a grey ring: not "
    "claimed. A line across the chain line may be nothing; those that overlap stand in no sure order."
)
HOW_SIZED = (
    "How many times as often the fault comes back on the worse doors (a reading: the 90th against the 10th "
    "percentile; a check: failed against passed), within one crew and with earlier steps alike. Read as above."
)
HOW_MAP = (
    "Deviations down in the order of the work, faults across with the most frequent first. A dot: strong evidence. A "
    "blue diamond: a hint. A dash: enough records, nothing shown. Blank: too few to tell."
)


def quality_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the causes sheet."""
    effects, first_causes = results.effects(), results.first_causes()
    advice = {(row.fault, row.deviation): row for row in results.limit_advice()}
    lead = (who_was_counted(firm, results.rates()), words.what_was_tried(effects), words.without_doubtful(effects))
    blocks = (
        *found_table(effects, advice),
        *_effect_figures(words.causes(effects)),
        *flow_figure(effects, results.recorded()),
        *example_blocks(results),
        *first_cause_figure(first_causes, effects),
        *dose_blocks(results, effects, advice, firm.currency),
        *parts_blocks(results),
        _open_questions(effects),
        *needed_figure(effects),
        *limit_blocks(results.limits()),
        *first_cause_table(first_causes, firm, results),
        *variants_table(effects),
        *symptoms_table(results.recorded()),
        *([_pairs_table(effects, results.table("effects"))] if effects else []),
    )
    cautions = (ASSOCIATION, DEFER, SITE_WORK)
    says, said = words.headline(effects), tuple(filter(None, lead))
    do = f"{words.first_act(effects)} {first_limit(effects, advice)}".strip()
    return Sheet(NAME, title_block, says, said, blocks, cautions, do=do)


def _effect_figures(causes: list[Effect]) -> list[Block]:
    if not any(effect.is_answered for effect in causes):
        return []
    return [_ranked_figure(causes), _sized_figure(causes), _map_figure(causes)]


def _ranked_figure(causes: list[Effect]) -> Figure:
    worth = [effect for effect in causes if effect.avoidable and not words.is_hardly_any(effect)]
    shown = _shown(worth, lambda effect: effect.avoidable_per_year or 0.0)
    n_claimed, n_drawn = (sum(effect.is_claimed for effect in part) for part in (worth, shown))
    more = (
        f"Drawn are the first {count(n_drawn)} of {count(n_claimed)}; the table has all." if n_claimed > n_drawn else ""
    )
    how = f"{HOW_RANKED} {more}".strip()
    says = words.ranked_says(causes)
    title = "Callbacks spared a year, by cause"
    drawing = draw(lambda is_narrow: avoidable_chart(shown, is_narrow), "avoidable", title, says)
    return Figure("avoidable", says, how, drawing, words.ranked_do(causes))


def _sized_figure(causes: list[Effect]) -> Figure:
    shown = _shown([effect for effect in causes if effect.ratio], lambda effect: effect.contrast_low or 0.0)
    says = words.sizes_says(causes)
    title = "How many times as often, by cause"
    drawing = draw(lambda is_narrow: ratio_chart(shown, is_narrow), "sizes", title, says)
    do = "Show a crew the size to explain why a reading matters; choose by the figure above what comes first."
    return Figure("sizes", says, HOW_SIZED, drawing, do)


def _map_figure(causes: list[Effect]) -> Figure:
    says = words.map_says(causes)
    drawing = draw(lambda is_narrow: pairs_chart(causes, is_narrow), "map", "What can be said of each pair", says)
    return Figure(
        "map",
        says,
        HOW_MAP,
        drawing,
        "A dash is no proof of no effect: before loosening anything see how wide its interval is in the table.",
    )


def _shown(causes: list[Effect], rank: Callable[[Effect], float]) -> list[Effect]:
    """What is claimed, ranked; then a few of which nothing is claimed, first those that the trade expects."""
    claimed = sorted((effect for effect in causes if effect.is_claimed), key=rank, reverse=True)
    others = [effect for effect in causes if effect.is_answered and not effect.is_claimed]
    others.sort(key=lambda effect: (not effect.is_expected, -effect.events))
    return [*claimed[:MOST_ROWS], *others[: max(MOST_OTHERS, MOST_OTHERS + 5 - len(claimed))]]


def _open_questions(effects: list[Effect]) -> Listing:
    reasons = [Item(sentence(reason), f"{counted(number, 'pair')}:") for reason, number in words.why_not(effects)]
    odd = [
        Item(
            f"{pair(effect)}: {words.times(effect)} as often, {words.contrast(effect)}. Have the readings of a "
            "few of these doors checked before believing it.",
            "Unexpected direction.",
        )
        for effect in words.unexpected(effects)[:5]
    ]
    if not reasons and not odd:
        text = (
            "Every pair on record is answered." if effects else "No callback can be set against a reading or a check."
        )
        return Listing("open", "What cannot be told yet", (Item(text),))
    how = (
        "Too few is decided from the records alone, never from how an answer looks. The table at the foot gives the "
        "reason for every pair. What changes it: recording the deviation on every door, good ones too."
    )
    return Listing("open", "What cannot be told yet, and why", (*reasons, *odd), how)


ORDER = ("strong", "suggestive", "none")
COLUMNS = (
    "deviation",
    "fault",
    "step",
    "as often (95 %)",
    "compared",
    "for more of",
    "within crews (95 %)",
    "between crews",
    "spared a year (95 %)",
    "callbacks",
    "doors",
    "recorded on",
    "evidence",
    "remark",
)


def _pairs_table(effects: list[Effect], frame: pl.DataFrame) -> Table:
    answered = [effect for effect in effects if effect.is_answered]
    answered.sort(key=lambda effect: (ORDER.index(effect.evidence), -(effect.contrast_low or 0.0)))
    shown = answered or sorted(effects, key=lambda effect: -effect.events)[:MOST_OPEN_ROWS]
    which = counted(len(answered), "answered pair") if answered else "the pairs nearest to an answer"
    return Table(
        "pairs",
        f"The table behind: {which} of {count(len(effects))}",
        COLUMNS,
        tuple(_cells(effect) for effect in shown),
        f"{words.of_them_causes(effects)}Within crews is the headline. Between crews compares crews as wholes; much "
        "else can explain a difference there.",
        frozenset({9, 10, 11}),
        download("effects", frame),
    )


def _cells(effect: Effect) -> tuple[str, ...]:
    return (
        as_name(effect.words),
        as_name(effect.fault_words),
        effect.step,
        words.times(effect),
        words.contrast(effect) if effect.ratio else "",
        with_unit(plain(effect.per), effect.unit) if effect.per_unit else "",
        effect.per_unit.words(unit=" times") if effect.per_unit else "",
        bare_times(effect.between_ratio) if effect.between_ratio is not None else "",
        effect.avoidable.words() if effect.avoidable else "",
        count(effect.events),
        count(effect.doors),
        percent(effect.recorded_share),
        EVIDENCE.get(effect.evidence, effect.evidence),
        capital(as_name(effect.note)),
    )
