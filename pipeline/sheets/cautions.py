"""What to beware of before a step, said where it belongs. Information only: never a substitute for what it names."""

DEFERS = (
    "Information only: the product's own instructions, local building regulations, a risk assessment and a competent, "
    "where the law asks for it licensed, person go before anything on this sheet."
)
_DRILLING = (
    "Before drilling: know what is in the wall and under the sill (cables, pipes, gas, heating, asbestos); if not, "
    "stop and have it surveyed. Keep dust down."
)
_HEIGHT = (
    "At height: guarding in place before the old door goes, ladders only for short, light work. Never cut, trim or "
    "jack a lintel or beam: a head that moves is for a structural engineer. Drilling: see the caution at the sill."
)
_HEAVY_GLASS = (
    "Glass and leaves are heavy (glass: 2.5 kg a square metre for every mm of thickness): weigh up each lift, use "
    "lifters, enough people, gloves and eye protection, and do not lift in wind. A leaf off its rollers or hinge is "
    "propped and not operated."
)
_BRACE = "Without its glass or beads a leaf has lost its brace: support it. Heavy glass: see the caution at hanging."
# common practice, no source, but for the weight of glass: density 2,500 kg/m3, EN 572-1
CAUTIONS = {"sill": _DRILLING, "frame": _HEIGHT, "hanging": _HEAVY_GLASS, "glazing": _BRACE}
