"""What names a row of totals, which is passed over, where the mapping says nothing of its own."""

TOTALS = (
    "total", "totals", "subtotal", "sub-total", "sub total", "grand total", "sum", "average", "mean", "avg", "Ø", "Σ",
    "tolerance", "allowed", "allowable", "limit",
)  # fmt: skip
# The same where nothing but numbers follows: each may be somebody's name as well.
TOTALS_ALONE = (
    "max", "min", "maximum", "minimum", "ave", "av", "median", "range", "count", "s.d.", "sd", "std dev",
    "carried forward", "brought forward", "carried over", "c/f", "b/f", "c/fwd", "b/fwd", "c/d", "b/d", "balance",
)  # fmt: skip
