"""Sheet 5, records: what came in, what was set aside and how to mend it; for whoever keeps the records."""

from pipeline.report.charts.intake import reasons_chart, recorded_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import as_name, listed
from pipeline.report.reading import Results
from pipeline.report.rows.intake_rows import Reason
from pipeline.report.rows.table_rows import Firm, RecordedShare
from pipeline.report.sheet import SHEETS, Block, Figure, Item, Listing, Passage, Sheet, TitleBlock
from pipeline.report.sheets.completeness import completeness_table
from pipeline.report.sheets.intake_tables import (
    account_tables,
    checks_table,
    corrections_table,
    credibility_table,
    disagreements_table,
    expectations_table,
    link_rates_table,
    links_table,
    recorded_table,
    set_aside_table,
)
from pipeline.report.sheets.unread import unread_table
from pipeline.report.words import intake as words
from pipeline.report.words.common import who_was_counted

NAME = SHEETS[4]
MOST_REASONS = 12
MEND = (
    Item(
        "Open set_aside.xlsx beside these results, correct the coloured cells, save and run again; your own file stays "
        "as it is. Or correct it in your own file, under the same name: new content replaces the old.",
        "A row or cell.",
    ),
    Item("What hangs on a door that was set aside comes in by itself once that door is mended.", "A door."),
    Item(
        "A word that is not known is never guessed. Use the one the reason names, or add yours to fitback.toml.",
        "A word.",
    ),
    Item("Rows that say different things under one key are all set aside; keep the right one.", "A contradiction."),
    Item("A file that cannot be read is named in the account; save it again as CSV or XLSX.", "A file."),
)
HOW_REASONS = (
    "Rows, cells and files not taken in, by record, column and reason; each bar quotes one example. A bad cell that "
    "is not needed is left empty and its row is in."
)
HOW_RECORDED = (
    "Doors with the deviation recorded, of all doors, in the order of the work. Left of the red line, hatched, are "
    "too few to look for a cause. Not recorded is never taken as zero, and never as good."
)
CODES_SAY = "Crews stand under codes on every sheet"
HOW_CODES = (
    "Each crew was given the next free number once, in an order that follows neither its name nor its age, and keeps "
    "it from run to run. Who is who stands in crew_codes.csv in the folder of the results; the databases and the "
    "workbook of what was set aside hold the names too. Hand on the pages, the tables and fitback.xlsx without these. "
    "A name within a file's name is replaced where it is written as in the records."
)
PRIVATE = "Customers' names, addresses and notes stand on no sheet and in no table of these results."


def records_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the records sheet."""
    account, linked, coded = results.account(), results.tally("linked"), results.tally("coded")
    recorded = [share for share in results.recorded() if share.role != "record"]
    blocks = (
        *account_tables(account, results),
        *([Passage("codes", CODES_SAY, (HOW_CODES,))] if results.has_codes else []),
        *unread_table(results),
        *_set_aside(results),
        *corrections_table(results),
        *checks_table(results.data_checks(), results),
        *expectations_table(results.expectation_checks(), results),
        _recorded(recorded),
        recorded_table(recorded, results),
        *credibility_table(results),
        *completeness_table(results),
        *links_table(linked, coded),
        *link_rates_table(results),
        *disagreements_table(results),
    )
    callbacks = f"{words.linked_sentence(linked)} {words.coded_sentence(coded)}".strip()
    lead = (who_was_counted(firm, results.rates()), words.files_sentence(account), callbacks)
    return Sheet(NAME, title_block, words.headline(account), lead, blocks, (PRIVATE,))


def _set_aside(results: Results) -> list[Block]:
    listed, reasons = results.set_aside(), results.reasons()
    if not listed:
        return []
    return [
        _reasons(reasons),
        Listing("mend", "How to mend it", MEND),
        set_aside_table(listed, sum(reason.rows for reason in reasons), results),
    ]


def _reasons(reasons: list[Reason]) -> Figure:
    says, title = words.reasons_say(reasons), "Why rows were set aside"
    drawing = draw(lambda is_narrow: reasons_chart(reasons[:MOST_REASONS], is_narrow), "reasons", title, says)
    return Figure("reasons", says, HOW_REASONS, drawing, words.mend_first(reasons))


def _recorded(recorded: list[RecordedShare]) -> Figure:
    says, title = words.recorded_says(recorded), "Share of doors with each deviation recorded"
    never = [as_name(share.words) for share in recorded if not share.doors_recorded]
    left = f" Recorded on no door: {listed(never, 6)}." if never else ""
    drawing = draw(lambda is_narrow: recorded_chart(recorded, words.LEAST_SHARE, is_narrow), "recorded", title, says)
    return Figure(
        "recorded", says, HOW_RECORDED + left, drawing, "Record a few things on every door, not everything on some."
    )
