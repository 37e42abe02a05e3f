"""Gives the headings of a sheet to the columns of one record: the likeness of the words, borne out by the contents."""

import numpy as np
from scipy.optimize import linear_sum_assignment

from pipeline.ingest.matching.columns.borne_out import bears_out
from pipeline.ingest.matching.columns.cost_parts import COST
from pipeline.ingest.matching.columns.elimination import (
    counts_rows,
)
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.less_sure import less_sure
from pipeline.ingest.matching.columns.numbering import (
    as_number_of,
    counts_lines,
    names_kinds,
    names_products,
)
from pipeline.ingest.matching.columns.placed import FAINT, Assignment, Placed
from pipeline.ingest.matching.columns.whose_fault import asked_of
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.contents import BY_CONTENTS, as_kind_of_blame, as_kind_of_fault, is_by_contents
from pipeline.ingest.matching.words.customers_money import is_customers_money
from pipeline.ingest.matching.words.listed_answers import lists_its_cells
from pipeline.ingest.matching.words.meaning import SURE, UNDECIDED, likeness_under
from pipeline.ingest.matching.words.order_days import is_of_an_order
from pipeline.ingest.records import CALLBACKS, DAY, INSTALLS, READINGS, Column, Record

# How much a sure pair outweighs those hardly sure, and what order weighs where all else is equal.
_SHARPNESS, _FIRST = 4, 1e-4
# What a column that counts the lines weighs as a number of doors, or as what was read.
_COUNTED = 0.75
# Columns of callbacks that a heading of kinds, such as reason, may be by what stands in it.
_AS_KIND = {"fault": as_kind_of_fault, "responsibility": as_kind_of_blame}


def assign(record: Record, layout: Layout, taken: frozenset[str] = frozenset()) -> Assignment:
    """The best giving, as a whole, of headings that are not taken yet: each heading once, each column once."""
    texts = {heading: without_number(layout.said(heading)) for heading in layout.evidence if heading not in taken}
    pairs = [_weighed(record, column, named, layout) for column in record.columns for named in texts.items()]
    pairs.sort(key=lambda one: -one.sure)
    placed = {one.column: one for one in best_together([one for one in pairs if one.sure >= SURE], record)}
    used = {one.heading for one in placed.values()}
    faint = tuple(one for one in pairs if FAINT <= one.sure < SURE and one.heading not in used)
    return Assignment(placed, faint)


def best_together(pairs: list[Placed], record: Record) -> list[Placed]:
    """Of what is sure enough, each heading and column at most once, so that all of it together is surest.

    One sure pair weighs more than two that are hardly sure; where all else is equal, required columns come first and
    then the headings further left.
    """
    if not pairs:
        return []
    headings = list(dict.fromkeys(one.heading for one in sorted(pairs, key=lambda one: one.place)))
    columns = [column.name for column in record.columns]
    weights = np.zeros((len(columns), len(headings)))
    by_place = {}
    for one in pairs:
        at = columns.index(one.column), headings.index(one.heading)
        first = _FIRST * (record.column(one.column).is_required + 1 - at[1] / len(headings))
        weights[at], by_place[at] = one.sure**_SHARPNESS + first, one
    rows, places = linear_sum_assignment(weights, maximize=True)
    return [by_place[at] for at in zip(rows.tolist(), places.tolist(), strict=True) if at in by_place]


def _weighed(record: Record, column: Column, named: tuple[str, str], layout: Layout) -> Placed:
    """A heading given to a column, and how sure. named: the heading (folded), and what it says."""
    heading, text = named
    is_no_work = record is INSTALLS and column.kind == DAY and is_of_an_order(text)
    likeness = 0.0 if is_no_work else likeness_under(record.name, column.name, text)
    evidence = layout.evidence[heading]
    likeness, told = as_number_of(record, column.name, text, likeness, (evidence, layout.known))
    is_list = lists_its_cells(column.name, text, evidence.texts)
    if likeness < BY_CONTENTS and (is_list or is_by_contents(record.name, column.name, evidence.texts)):
        likeness, told = BY_CONTENTS, f"by what stands in it; {told}"
    if party := asked_of(record.name, column.name, heading, layout):
        why = f"a yes under it says {party}; a no does not say whose fault it was"
        return Placed(heading, record.name, column.name, BY_CONTENTS, why, place=layout.heads.places[heading])
    as_kind = _AS_KIND.get(column.name) if record is CALLBACKS else None
    kind = as_kind(text, evidence.texts) if as_kind else None
    if kind is not None and not evidence.are_days:
        why = f"reads as {column.name}; {told}, kinds of {column.name}"
        sure = max(likeness, kind) if kind else 0.0
        return Placed(heading, record.name, column.name, sure, why, place=layout.heads.places[heading])
    if record is INSTALLS and column.name == INSTALLS.key[0]:
        likeness *= 0.0 if names_kinds(layout, heading) else _COUNTED if counts_lines(layout, heading) else 1.0
    if record is READINGS and column.name == "value" and likeness >= SURE and counts_rows(layout, heading):
        likeness *= _COUNTED
    if record is INSTALLS and column.name == "product" and names_products(layout, heading):
        likeness, told = BY_CONTENTS, f"kinds of door beside their numbers; {told}"
    why = f"reads as {column.name.replace('_', ' ')}; {told}"
    sure = likeness * bears_out(record, column, evidence) * less_sure(column.name, text, evidence)
    if record is CALLBACKS and column.name == COST and is_customers_money(text):
        sure = min(sure, UNDECIDED)
    return Placed(heading, record.name, column.name, sure, why, place=layout.heads.places[heading])
