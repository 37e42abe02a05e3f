"""The part of the causes sheet about where an effect differs: between crews, materials and seasons of fitting."""

from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, count, counted, plain
from pipeline.report.reading import Results
from pipeline.report.rows.part_rows import EffectPart
from pipeline.report.sheet import Block, Item, Listing, Passage, Table
from pipeline.report.words import parts as words

MOST_ITEMS = 8
COLUMNS = ("deviation", "fault", "by", "part", "as often (95 %)", "spread", "callbacks", "doors", "q", "answer")
HOW_TABLE = (
    "As often: the worse doors against the better ones, for the same two values in every part. Spread: two "
    "crews in three lie within this factor of the common ratio. Single crews are shown where crews differ, each drawn "
    "towards all. q counts all these questions together; differs is said from 0.05 down."
)


def parts_blocks(results: Results) -> list[Block]:
    """The section; nothing where no cause was found."""
    parts = results.effect_parts()
    if not parts:
        return []
    found = words.differing(parts)
    asked = words.asked_says(parts)
    if not found:
        return [Passage("parts", words.says(parts), (asked,)), _table(parts, results)]
    items = tuple(Item(words.differs_says(rows), words.lead(rows)) for rows in found[:MOST_ITEMS])
    return [Listing("parts", words.says(parts), items, asked), _table(parts, results)]


def _table(parts: list[EffectPart], results: Results) -> Table:
    questions = counted(len(words.questions(parts)), "question")
    frame = download("effect_by", results.table("effect_by"))
    says = f"The table behind: {questions} of crews, materials and seasons"
    rows = tuple(_cells(part) for part in parts)
    return Table("parts-table", says, COLUMNS, rows, HOW_TABLE, frozenset({6, 7, 8}), frame)


def _cells(part: EffectPart) -> tuple[str, ...]:
    return (
        as_name(part.words),
        as_name(part.fault_words),
        part.by,
        words.part_name(part),
        part.times.words(unit=" times") if part.times else "",
        words.spread_words(part),
        count(part.events),
        count(part.doors),
        plain(part.q_differ, 2) if part.q_differ is not None else "",
        words.VERDICTS[part.verdict],
    )
