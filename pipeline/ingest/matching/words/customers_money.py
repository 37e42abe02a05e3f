"""What a customer paid or was asked for, which beside a callback is no cost of the firm's: Charged, Invoiced, Price."""

import re

DOUBT = "it may be what the customer paid; name it as the cost only if it is what the callback cost you"
_ASKED = re.compile(
    r"\b(?:re)?charge[ds]?\b|\b(?:re)?chargeable\b|\binv(?:oice[ds]?)?\b|\bbill(?:ed|s)?\b|\bprice[ds]?\b|\bquote[ds]?\b"
    r"|\bfees?\b|\brevenue\b|\bsale\b",
    re.IGNORECASE,
)
_WHO_PAYS = re.compile(r"\b(?:customer|client|home ?owner|householder|tenant|buyer)s?\b", re.IGNORECASE)
# Words by which it is the firm that was asked: a contractor takes a contra charge off what it owes its subcontractor.
_US = re.compile(
    r"\b(?:contra|back-?|us|our|ours|company|firm|business|internal|supplier|sub-?contractor|we)s?\b", re.IGNORECASE
)


def is_customers_money(heading: str) -> bool:
    """Whether a heading of amounts speaks of what the customer pays.

    >>> [is_customers_money(text) for text in ("Charged EUR", "Price to customer", "Cost", "Charge to us")]
    [True, True, False, False]
    """
    return bool(_ASKED.search(heading) or _WHO_PAYS.search(heading)) and not _US.search(heading)
