"""Days of an order: words for jobs are words for orders too, but the day of an order is none of the work."""

import re

_OF_AN_ORDER = re.compile(r"\b(?:order(?:ed|s)?|quot(?:e|ed|ation)|sold|sale|deposit)\b", re.IGNORECASE)
# A works order is the job; what is said of its end is said of the work.
_OF_THE_WORK = re.compile(
    r"\bworks?\s+order\b|\b(?:complet\w+|finish\w*|done|fitted|install\w*|closed)\b", re.IGNORECASE
)


def is_of_an_order(heading: str) -> bool:
    """Whether a heading of days says when something was ordered, quoted or sold.

    >>> [is_of_an_order(text) for text in ("Order date", "Works order date", "Order completed", "Date fitted")]
    [True, False, False, False]
    """
    return _OF_AN_ORDER.search(heading) is not None and _OF_THE_WORK.search(heading) is None
