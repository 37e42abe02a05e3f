"""Gaps round the frame that are named by its sides: left, right and top, of which the top is the head.

How firms name the sides is common practice, no source.
"""

from dataclasses import replace

from pipeline.ingest.matching.columns.proposed import Proposed

_MEASURE = "perimeter_gap"
_SIDES, _ENDS = frozenset({"left_jamb", "right_jamb"}), {"top": "head", "bottom": "sill"}


def named_by_sides(entries: list[Proposed]) -> list[Proposed]:
    """The entries; a gap at the top beside gaps of the left and the right jamb as a whole is that at the head."""
    fixed = [dict(one.each.fixed) for one in entries]
    gaps = [one for one in fixed if one.get("measure") == _MEASURE]
    sides = {one["member"] for one in gaps if "member" in one and "station" not in one}
    loose = [one["station"] for one in gaps if "station" in one and "member" not in one]
    if not sides & _SIDES or not set(loose) <= _ENDS.keys() or len(loose) != len(set(loose)):
        return entries
    return [_of_member(one) for one in entries]


def _of_member(one: Proposed) -> Proposed:
    fixed = dict(one.each.fixed)
    if fixed.get("measure") != _MEASURE or "member" in fixed or "station" not in fixed:
        return one
    member = _ENDS[fixed.pop("station")]
    why = f"{one.why}; beside those of the jambs, so that of the {member}"
    return replace(one, each=replace(one.each, fixed=(*fixed.items(), ("member", member))), why=why)
