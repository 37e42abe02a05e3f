"""Which of the readings that stand in one cell a line of `each` reads: a part, one of a list, or an end that is low."""

from pipeline.ingest.declared.mapping import PLACES_ALONG, Each, RecordMap
from pipeline.ingest.matching.sheet.low_ends import height_at
from pipeline.ingest.matching.sheet.several_numbers import part_of_list, part_of_several


def read_in_cells(one: Each, record_map: RecordMap, texts: list[str]) -> list[str]:
    """What each cell of a column says of one reading; the cells as they are where a line reads them whole."""
    if one.low:
        return [height_at(text, one.low) if text else "" for text in texts]
    if not one.part or one.heading is None:
        return texts
    n_parts = record_map.parts_of(one.heading)
    # a member has as many fixings and packers as it has
    in_cell = part_of_list if dict(one.fixed).get("measure") in PLACES_ALONG else part_of_several
    return [in_cell(text, one.part, n_parts) for text in texts]
