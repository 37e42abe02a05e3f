"""Marks that mean something beside one another only, and shapes of ticks and crosses: common practice, no source."""

# Accepted and rejected, compliant and not, satisfactory and not, true and false, green and red, plus and minus, stroke
# and cross, done and not done, what another font shows as a tick and a cross, a box that is ticked and one that is not.
PAIRS = (
    ("a", "r"), ("c", "nc"), ("c", "n/c"), ("c", "n.c."), ("s", "u"), ("t", "f"), ("g", "r"), ("+", "-"), ("/", "x"),
    ("\\", "x"), ("d", "nd"), ("ü", "û"), ("þ", "ý"), ("☒", "☐"), ("comp", "non comp"), ("acc", "rej"),
)  # fmt: skip
# The second of a pair that is no mark: nothing is said of such a box.
LEFT_EMPTY = frozenset({"☐"})
# Between green and red, and neither.
AMBER = frozenset({"a", "amber"})
SHAPES = {"√": "pass", "✓✓": "pass", "✕": "fail", "✖": "fail", "╳": "fail", "☓": "fail"}
STROKES = ("/", "\\")
MARKS = frozenset(mark for pair in PAIRS for mark in pair) | AMBER | SHAPES.keys() | {"red", "green", "o", "1", "0"}
