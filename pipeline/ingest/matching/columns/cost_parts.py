"""What a callback cost, where labour and parts stand in columns of their own and no total beside them.

Taken as their sum only where each is plainly money: labour alone may as well be hours.
"""

from pipeline.ingest.declared.mapping import Source
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.customers_money import is_customers_money
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.texts.money import currencies, currencies_in_cells

COST = "cost"
SUM = " + "
_WORK = frozenset({"labour", "labor", "lab"})
_GOODS = frozenset({"parts", "part", "material", "mat", "mats", "goods", "spares", "hardware"})
_BESIDE = frozenset({"travel", "mileage", "callback", "subcontractor", "sundries", "plant", "hire"})
_MONEY = frozenset(
    {"cost", "costs", "charge", "charges", "price", "amount", "value", "gbp", "eur", "usd", "aud", "zar"}
)
_NO_PART = frozenset({"total", "gross", "net", "sum", "vat", "gst", "tax", "invoice", "invoiced"})
# From this share of its cells on that have a sign of currency, a column is money whatever its heading.
_MOSTLY = 0.8


def cost_in_parts(layout: Layout, cost: str | None, taken: set[str]) -> Source | None:
    """The source of a cost that is a sum; None where a column says it whole, or what stands there may be no money.

    cost   the heading (folded) that reads as the cost, if any
    taken  headings that mean something else
    """
    free = [heading for heading in layout.evidence if heading not in taken or heading == cost]
    parts = [heading for heading in free if _is_part(layout, heading)]
    words = [set(words_of(layout.lowest(heading))) for heading in parts]
    has_both = any(one & _WORK for one in words) and any(one & _GOODS for one in words)
    is_whole = cost is not None and cost not in parts
    # a part is called no total
    if not has_both or is_whole or any("total" in words_of(layout.lowest(heading)) for heading in free):
        return None
    first, *further = map(layout.written, parts)
    return Source(heading=first, joined=tuple(further), between=SUM)


def _is_part(layout: Layout, heading: str) -> bool:
    """Whether a column holds the amounts of one part of a cost."""
    words = set(words_of(layout.lowest(heading)))
    evidence = layout.evidence[heading]
    named = words & (_WORK | _GOODS | _BESIDE)
    # labour and parts in one column are the whole
    is_one = len(named) == 1 and not words & _NO_PART and words <= _WORK | _GOODS | _BESIDE | _MONEY
    is_headed = bool(words & _MONEY or currencies([layout.written(heading)])) and evidence.numbers >= _MOSTLY
    return is_one and not is_customers_money(layout.said(heading)) and (is_headed or says_money(layout, heading))


def says_money(layout: Layout, heading: str) -> bool:
    """Whether most cells of a column have a sign of currency."""
    texts = [text for text in layout.cells.texts(heading) if text]
    return bool(texts) and sum(bool(currencies_in_cells([text])) for text in texts) >= _MOSTLY * len(texts)
