"""Words beside what a heading names: those that say no more, and those by which it is something else.

All in the spelling of `vocabulary.words_of`. How people head their columns is common practice, no source.
"""

# Words over several headings that say what they have in common and no more.
GENERAL = frozenset({
    "door", "doors", "details", "size", "sizes", "job", "customer", "general", "overall", "information", "info", "set",
    "site", "dates", "date", "installation", "fitted", "product", "record", "who", "when", "what", "where", "crew",
    "facts", "data",
    "dimensions", "nominal", "o", "a", "oa", "dims", "programme", "timeline", "milestones", "diary", "calendar",
    "progress",
})  # fmt: skip
# Words that may turn what a check says into its contrary (no is folded with number).
TURNED = frozenset({
    "number", "not", "without", "missing", "damage", "damaged", "broken", "defect", "defects", "leak", "leaks",
    "required", "needed", "outstanding", "left", "still", "replaced", "faulty", "loose", "worn",
})  # fmt: skip
# Of these, words that make a yes a fault whatever else is said: drain blocked, locks not operating.
CONTRARY = (TURNED - {"left", "still", "replaced"}) | {
    "blocked", "dirty", "stiff", "snag", "snags", "issue", "issues", "problem", "problems", "off", "fault", "faults",
    "damages", "wrong", "incorrect", "incomplete", "poor", "bad", "scratched", "scratches", "unsealed", "untested",
}  # fmt: skip
# Words that a heading of a measure may have beside it and that say no more: a level is one above some datum.
SAID_WITH = {
    "frame_width": ("o", "a", "oa", "overall"), "frame_height": ("o", "a", "oa", "overall"),
    "temperature": ("c", "degc", "°c", "when", "measure", "taken"), "running_force": ("n",),
    "sill_height": ("datum", "above", "over", "ffl", "ssl", "height"),
    # what a jamb is measured off: its plumb line
    "jamb_face": ("off", "offset", "line"), "jamb_edge": ("off", "offset", "line"),
    "sill_tilt": ("fall", "tilt", "across"), "hinge_packers": ("number", "count", "quantity"),
    # one place by both its names: gap at the sill (threshold)
    "head_gap": ("head",), "threshold_gap": ("sill", "threshold"),
}  # fmt: skip
# One word for a check says less beside one of these than what they are: sill anchors caulked.
THINGS = frozenset({
    "sill", "fixing", "hinge", "glass", "bead", "joint", "joints", "corner", "corners", "screws", "drain", "packers",
    "threshold", "pan", "end", "ends", "dams", "dam",
})  # fmt: skip
# What is measured as well: an opening that is clean and square is more than a clean one.
MEASURED = frozenset({"square", "plumb"})
# Words beside or over a check that say no more than where it belongs.
SAID_OVER_CHECKS = frozenset({
    "leaf", "ok", "l", "check", "checks", "checked", "all", "survey", "sill", "frame", "hanging", "glazing",
    "adjustment", "sealing", "handover", "surveyed", "adjust", "adj", "item", "point", "hang", "hung", "glaze",
    "finished", "fully", "properly", "correctly", "good", "well", "working",
    "doors", "door", "leaves", "bifold", "bifolds", "easily", "throughout", "correct", "okay", "satisfactory",
    "initial", "initials", "initialled", "when",
})  # fmt: skip
# Words for something else that is measured: the level of the head is no gap under it.
QUANTITIES = frozenset({
    "level", "plumb", "height", "width", "diagonal", "lean", "bow", "twist", "straight", "square", "weight",
    "temperature", "force", "fall", "tilt", "spacing", "glass", "wear", "cover",
})  # fmt: skip
# Where something was read: without a number it is what the column holds. Distance from left.
WHEREABOUTS = frozenset({"distance", "distances", "dist", "chainage"})
# The same for single measures: a count of fixings is no distance, a locking force moves no leaf, the head is no sill.
NOT_OF = {
    "fixing": {"number", "count", "total"}, "packer": {"number", "count", "total"}, "running_force": {"lock"},
    "sill_height": {"head"}, "aperture_width": {"clear"}, "frame_width": {"clear"},
}  # fmt: skip
# Ends that a distance is not counted from: canonical ones are counted from the left or the lower end.
FAR_ENDS = frozenset({"top", "right", "head"})
# Words over readings of the frame that tell no reading from another: frame as set, door.
NEUTRAL = frozenset({"set", "built", "door", "doors", "doorset"})
