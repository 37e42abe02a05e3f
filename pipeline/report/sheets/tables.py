"""The sheet of tables: the data dictionary, and which records each result is made of; for who uses the numbers."""

from collections.abc import Sequence

from pipeline.dictionary import BETWEEN, RESULT, Entry, dictionary
from pipeline.report.charts.lineage import lineage_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import KEPT, counted
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import Firm
from pipeline.report.sheet import Block, Figure, Item, Listing, Passage, Sheet, Table, TitleBlock, named
from pipeline.report.words import tables as words
from pipeline.report.words.common import sentence

NAME = named("tables.html")
HOW = (
    "Results down, the firm's records across. A dot: the result is made of that record, directly or through other "
    "tables. Where a record is missing, what stands in its column is empty or less sure."
)
WHERE = (
    Item("tables/NAME.csv and tables/NAME.parquet, beside these pages.", "As files."),
    Item("results.duckdb beside these pages, a table of the same name; what lies in between too.", "As a database."),
    Item("fitback.xlsx beside these pages, what people use most.", "As a workbook."),
    Item("fitback tables NAME tells the same as this sheet; with --json for a program.", "On the command line."),
    Item("Names of columns stay; more may follow. Empty is not known, never zero.", "What you can rely on."),
)
BEHIND = "Tables of results.duckdb that results are made of. Their columns may change from one version to the next."
COLUMNS = ("column", "type", "what it is")


def tables_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the sheet of tables."""
    entries, rows = dictionary().values(), results.row_counts()
    found = [entry for entry in entries if entry.kind == RESULT]
    between = [entry for entry in entries if entry.kind == BETWEEN]
    records = [entry.name for entry in entries if entry.from_records == (entry.name,)]
    blocks: tuple[Block, ...] = (
        Listing("where", "Where the tables lie", WHERE),
        _lineage(found, records),
        *(_table(entry, rows) for entry in found),
        Passage("between", "What lies in between", (BEHIND,)),
        *(_table(entry, rows) for entry in between),
    )
    lead = (
        "Open a table below for its columns, their units, its key and what it is made of. All of it is read from the "
        "files that make the tables, so it cannot be out of date.",
    )
    return Sheet(NAME, title_block, words.headline(found, between), lead, blocks)


def _lineage(found: Sequence[Entry], records: Sequence[str]) -> Figure:
    says, title = words.lineage_says(found, records), "Which records each result is made of"
    drawing = draw(lambda is_narrow: lineage_chart(found, records, is_narrow), "lineage", title, says)
    return Figure("lineage", says, HOW, drawing, "")


def _table(entry: Entry, rows: dict[str, int]) -> Table:
    n_rows = f" ({counted(rows[entry.name], 'row').replace(' ', KEPT)})" if entry.name in rows else ""
    cells = tuple((column.name, column.type, column.meaning) for column in entry.columns)
    says, *more = entry.purpose.split(". ")
    how = " ".join(filter(None, (sentence(". ".join(more)) if more else "", words.where_from(entry))))
    return Table(f"table-{entry.name}", f"{entry.name}: {says}{n_rows}", COLUMNS, cells, how)
