"""One column that says where each reading of a list was taken: a distance in mm for some, a named end for others."""

from pipeline.ingest.declared.mapping import PLACES_ALONG, RecordMap
from pipeline.ingest.texts.numbers import read_number
from pipeline.ingest.texts.words import plain


def places_apart(record_map: RecordMap, columns: dict[str, list[str]]) -> dict[str, list[str]]:
    """The columns of readings; where one heading gives both station and position, each cell stands in one of the two.

    The number of a fixing or packer is a name, whatever column it stands in.
    """
    sources = dict(record_map.columns)
    station, position = sources.get("station"), sources.get("position_mm")
    if station is None or position is None or station.heading is None or station.heading != position.heading:
        return columns
    measures = columns.get("measure", [""] * len(columns["station"]))
    is_along = [
        plain(measure) not in PLACES_ALONG and is_distance(text)
        for measure, text in zip(measures, columns["station"], strict=True)
    ]
    return columns | {
        "station": ["" if along else text for along, text in zip(is_along, columns["station"], strict=True)],
        "position_mm": [text if along else "" for along, text in zip(is_along, columns["position_mm"], strict=True)],
    }


def is_distance(text: str) -> bool:
    """Whether a cell tells how far along: a number, and with it no more than a unit."""
    number, _ = read_number(text)
    return number is not None and not text.rstrip().endswith("%")
