"""Spreadsheet formulas that hold a limit against the cells of a reading. A cell is asked of only once it is filled.

They warn and never refuse: what is out of its limit is written down all the same. IF is what keeps a spreadsheet from
working out a slope of cells that are still empty, where OR would hand on its error.
"""

from itertools import pairwise

from pipeline.sheets.groups import Place, Reading, Rule

VALUE, POSITION = "H", "G"  # columns of the workbook, see workbooks


def cell_formulas(reading: Reading, first_row: int) -> dict[int, str]:
    """By row, what must be so of the cell there, without the leading `=`; rows without a formula have no limit."""
    rule = reading.rule
    rows = {place: first_row + number for number, place in enumerate(reading.places)}
    if rule is None or (rule.low is None and rule.high is None):
        return {}
    if rule.how == "each":
        return {row: _between(f"{VALUE}{row}", rule) for row in rows.values()}
    if rule.how == "spread" and rule.high is not None:
        cells = _cells(list(rows.values()))
        return dict.fromkeys(rows.values(), f"MAX({cells})-MIN({cells})<={rule.high:g}")
    made: dict[int, str] = {}
    for member in reading.members:
        of_member = {place: row for place, row in rows.items() if place.member == member}
        made |= _FOR_MEMBER[rule.how](of_member, rule)
    return made


def _between(cell: str, rule: Rule) -> str:
    bounds = [f"{cell}>={rule.low:g}"] if rule.low is not None else []
    bounds += [f"{cell}<={rule.high:g}"] if rule.high is not None else []
    return f"AND({','.join(bounds)})"


def _difference(rows: dict[Place, int], rule: Rule) -> dict[int, str]:
    if len(rows) != 2 or rule.high is None:
        return {}
    first, second = (f"{VALUE}{row}" for row in rows.values())
    text = f"IF(COUNT({first},{second})<2,TRUE,ABS({first}-{second})<={rule.high:g})"
    return dict.fromkeys(rows.values(), text)


def _level(rows: dict[Place, int], rule: Rule) -> dict[int, str]:
    if rule.high is None or any(place.position is None for place in rows):
        return {}
    numbers = list(rows.values())
    values, positions = _cells(numbers), _cells(numbers, POSITION)
    span = f"(MAX({positions})-MIN({positions}))"
    text = f"IF(COUNT({values})<{len(numbers)},TRUE,ABS(SLOPE({values},{positions}))*{span}<={rule.high:g})"
    return dict.fromkeys(numbers, text)


def _step(rows: dict[Place, int], rule: Rule) -> dict[int, str]:
    if rule.high is None:
        return {}
    numbers = list(rows.values())
    pairs = [(f"{VALUE}{above}", f"{VALUE}{row}", row) for above, row in pairwise(numbers)]
    return {row: f"IF(COUNT({above},{cell})<2,TRUE,ABS({cell}-{above})<={rule.high:g})" for above, cell, row in pairs}


_FOR_MEMBER = {"difference": _difference, "level": _level, "step": _step}


def _cells(rows: list[int], column: str = VALUE) -> str:
    return f"${column}${rows[0]}:${column}${rows[-1]}"
