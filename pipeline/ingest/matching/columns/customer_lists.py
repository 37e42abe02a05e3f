"""Lists of customers in a table of their own, as a small database keeps them: no log of calls, and no list of doors."""

from pipeline.ingest.matching.columns.placed import Placed

LISTS_CUSTOMERS = (
    "it lists customers and no doors; name, address and postcode are read beside the doors: look them up there, in "
    "columns of the list of doors, by the customer's number"
)
_OF_CUSTOMERS = frozenset({"customer", "address", "postcode", "callback_id", "install_id", "job_no"})


def lists_customers(placed: dict[str, Placed]) -> bool:
    """Whether what would be callbacks says who and where somebody is, by a number, and of no call.

    placed  what would be the columns of callbacks
    """
    is_named = "customer" in placed and len(placed.keys() & {"address", "postcode"}) > 0
    return is_named and placed.keys() <= _OF_CUSTOMERS
