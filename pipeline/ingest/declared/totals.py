"""What names a row of totals, which is passed over, where the mapping says nothing of its own."""

import re

TOTALS = (
    "total", "totals", "subtotal", "sub-total", "sub total", "grand total", "sum", "average", "mean", "avg", "Ø", "Σ",
    "tolerance", "allowed", "allowable", "limit",
)  # fmt: skip
# The same where nothing but numbers follows: each may be somebody's name as well.
TOTALS_ALONE = (
    "max", "min", "maximum", "minimum", "ave", "av", "median", "range", "count", "s.d.", "sd", "std dev",
    "carried forward", "brought forward", "carried over", "c/f", "b/f", "c/fwd", "b/fwd", "c/d", "b/d", "balance",
)  # fmt: skip
# How many there are of what a table lists, as a line of sums says it: 24 jobs. Not leaves: 3 panel is a kind of door.
_COUNTED = (
    "job", "door", "set", "unit", "opening", "order", "contract", "project", "install", "installation", "fit", "call",
    "callback", "call-back", "complaint", "visit", "ticket", "record", "row", "line",
)  # fmt: skip
COUNT = re.compile(rf"\d+ (?:{'|'.join(_COUNTED)})s?[.:]?", re.IGNORECASE)
# The same where nothing but a name stands beside it, so that it can be no kind of door.
THINGS = rf"\d+\s+(?:{'|'.join((*_COUNTED, 'plot', 'doorset', 'bifold', 'leaf', 'leave', 'panel'))})s?"
# A text that sums up the rows above it: March: 5 units, Q1 total: 30 doors.
SUMS_UP = re.compile(rf"(?:[^\W\d_][\w ./'&-]*[-–:,(\s]\s*)?{THINGS}\W*|.*\b(?:sub-?\s?)?totals?\b.*", re.IGNORECASE)
