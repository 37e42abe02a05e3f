"""Sheet 6, methods: how the numbers are made, what they take for granted, whether they hold when seen otherwise."""

from pipeline.report.charts.methods import ways_chart
from pipeline.report.claims import claims_study
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import as_name, bare_times, count
from pipeline.report.reading import Results
from pipeline.report.rows.method_rows import OtherWay
from pipeline.report.rows.table_rows import Firm
from pipeline.report.sheet import SHEETS, Block, Figure, Item, Listing, Sheet, Table, TitleBlock
from pipeline.report.sheets.blur import blur_table
from pipeline.report.sheets.changes import changed_or_not, changes_table
from pipeline.report.sheets.claims import claims_passage, claims_table
from pipeline.report.sheets.model_checks import check_blocks, check_table
from pipeline.report.words import methods as words
from pipeline.report.words.common import ASSOCIATION, DEFER, EVIDENCE, who_was_counted

NAME = SHEETS[5]
HOW_WAYS = (
    "The line is the finding as sheet 2 gives it, with its 95 % interval: a dot for strong evidence, a blue diamond "
    "for a hint. The rings below it are the same question asked otherwise: other times within which a second visit "
    "belongs to the first, doors watched only until somebody has visited them, without records in doubt. A "
    "cross is a way in which it no longer holds."
)
DO_WAYS = "Act first on what holds in every way; of the others, have a few doors measured again."
COLUMNS = (
    "deviation",
    "fault",
    "seen",
    "as often (95 %)",
    "callbacks",
    "doors",
    "share spared (95 %)",
    "unrecorded, to explain it",
    "and its interval",
    "verdict",
)


def methods_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the methods sheet."""
    ways, checks, study, changes = results.other_ways(), results.model_checks(), claims_study(), results.changes()
    assumed = tuple(Item(text, lead) for lead, text in words.ASSUMED)
    blocks = (
        *_ways_figure(ways),
        Listing("assumed", "What the numbers take for granted", assumed),
        claims_passage(study),
        *check_blocks(checks),
        changed_or_not(changes),
        *blur_table(results),
        *_ways_table(ways, results),
        *check_table(checks, results),
        claims_table(study),
        *changes_table(changes, results),
    )
    lead = (who_was_counted(firm, results.rates()), words.unmeasured_says(ways))
    return Sheet(NAME, title_block, words.headline(ways), tuple(filter(None, lead)), blocks, (ASSOCIATION, DEFER))


def _ways_figure(ways: list[OtherWay]) -> list[Block]:
    if not ways:
        return []
    says, drawn = words.ways_says(ways), words.drawn(ways)
    drawing = draw(lambda is_narrow: ways_chart(drawn, is_narrow), "ways", "Findings seen in other ways", says)
    return [Figure("ways", says, HOW_WAYS + words.more(ways), drawing, DO_WAYS)]


def _ways_table(ways: list[OtherWay], results: Results) -> list[Block]:
    if not ways:
        return []
    how = (
        "As often: the worse doors against the better ones, for the same two values in every way. Unrecorded, to "
        "explain it: how many times as often something that nobody recorded would have to go with the deviation and "
        "with the fault, both, to make the ratio; the next column, to move the interval to no effect (E-value). A "
        "published limit that is not in use changes only the share that is spared."
    )
    frame = download("effect_sensitivity", results.table("effect_sensitivity"))
    says = f"The table behind: {words.ways_count(ways)}"
    rows = tuple(_cells(way) for way in ways)
    return [Table("ways-table", says, COLUMNS, rows, how, frozenset({4, 5, 7, 8}), frame)]


def _cells(way: OtherWay) -> tuple[str, ...]:
    return (
        as_name(way.words),
        as_name(way.fault_words),
        f"{way.what} ({EVIDENCE[way.evidence]})" if way.is_as_reported else way.what,
        way.times.words(unit=" times") if way.times else "",
        count(way.events),
        count(way.doors),
        way.spared.words(100, " %") if way.spared else "",
        bare_times(way.e_value) if way.e_value is not None else "",
        bare_times(way.e_value_low) if way.e_value_low is not None else "",
        words.VERDICTS.get(way.verdict or "", ""),
    )
