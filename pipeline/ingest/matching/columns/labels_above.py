"""Facts of all doors of a sheet that labels above its header say, or the name of the sheet or of the file."""

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.borne_out import bears_out
from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.columns.layout import Layout, said
from pipeline.ingest.matching.columns.placed import LABEL_SURE, Assignment, Placed
from pipeline.ingest.matching.sheet.grid import Cell, Grid, shown
from pipeline.ingest.matching.words.meaning import SURE, column_likeness
from pipeline.ingest.records import INSTALLS


def with_labels_above(layout: Layout, facts: Assignment) -> Assignment:
    """The assignment of a door's facts, those that no column says taken from labels above the header."""
    placed = dict(facts.placed)
    # what stands again between the rows is of those under it, not of all
    again = set(map(folded, layout.cells.labels_of_lines()))
    for label, value in labels_above(layout):
        for column in INSTALLS.columns:
            likeness = column_likeness(INSTALLS.name, column.name, label)
            is_open = column.name not in placed and folded(label) not in again
            if is_open and likeness >= LABEL_SURE and bears_out(INSTALLS, column, look_at([value])):
                what = "" if column.is_personal else f": {shown(value)}"
                why = f"reads as {column.name.replace('_', ' ')}; stands above the header{what}"
                placed[column.name] = Placed(label, INSTALLS.name, column.name, likeness, why, is_above=True)
                break
    if "crew" not in placed and layout.crew_said:
        why = "no column says the crew, and the name of the file does"
        placed["crew"] = Placed("", INSTALLS.name, "crew", SURE, why, said=layout.crew_said)
    if "crew" not in placed and layout.is_of_crew:
        why = "no column says the crew, and every sheet bears the name of one"
        placed["crew"] = Placed("", INSTALLS.name, "crew", SURE, why, is_sheet=True)
    return Assignment(placed, facts.faint)


def labels_above(layout: Layout) -> list[tuple[str, Cell]]:
    """(label, what stands beside it) of the rows above the header."""
    found: list[tuple[str, Cell]] = []
    grid = layout.grid
    for row in range(layout.heads.row):
        if _stands_over_groups(grid, row):
            continue
        for column in range(grid.width):
            text = grid.text(row, column)
            name, _, rest = text.partition(":")
            if rest.strip():
                found.append((name.strip(), rest.strip()))
            elif name and said(grid.text(row, beside := grid.column_after(row, column))) < LABEL_SURE:
                cells = grid.rows[row]
                found += [(name.strip(), cells[beside])] if beside < len(cells) and shown(cells[beside]) else []
    return found


def _stands_over_groups(grid: Grid, row: int) -> bool:
    """Whether the texts of a row are names of groups of columns: two and more of them merged over several columns."""
    return sum(top == row == bottom and right > left for top, left, bottom, right in grid.merges) > 1
