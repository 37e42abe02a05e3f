"""The data dictionary: what every table holds, column by column, and what it is made of; from the models' headers.

Needs no results: it travels in the package. Never opens a database.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from pipeline.export import PUBLISHED
from pipeline.graph import CATALOGUE_SOURCES, RECORD_SOURCES, Graph, standard_graph
from pipeline.ingest.records import DAY, NUMBER, RECORDS, WHOLE
from pipeline.model_files import Column, Model

RESULT, BETWEEN, RECORD, CATALOGUE = "result", "between", "record", "catalogue"
KINDS = {
    RESULT: "Results: files in tables/, and tables of results.duckdb",
    BETWEEN: "In between: tables of results.duckdb",
    RECORD: "What was taken in: records.duckdb",
    CATALOGUE: "Settings and catalogue: tables of results.duckdb",
}
OF_RECORDS = "records.duckdb"
OF_CATALOGUE = "fitback.toml and the catalogue in pipeline/catalogue"
# What no model makes, so that no header tells: purpose and grain.
SOURCES = {
    "installs": ("the doors that were fitted", "one row per door"),
    "readings": ("what was measured on each door", "one row per reading"),
    "checks": ("what was seen and ticked on each door", "one row per check of a door or of a part of it"),
    "callbacks": ("what came back to the service desk", "one row per visit logged"),
    "crews": ("who fits", "one row per crew"),
    "training": ("who was trained in which step, and when", "one row per session of a crew in a step"),
    "instruments": ("what was measured with, and its largest error", "one row per instrument"),
    "files": ("what became of every file", "one row per file and record made of it"),
    "rejections": ("what was set aside or left empty, and why", "one row per row, cell or file"),
    "unread_headings": ("columns that nothing is read from", "one row per column of a sheet"),
    "correction_ledger": ("what people corrected in set_aside.xlsx", "one row per cell corrected"),
    "note_codes": ("faults read from service notes", "one row per callback and fault"),
    "note_responsibility": ("who answers for a callback, read from its note", "one row per callback"),
    "job_numbers": ("job numbers however they are written, and what they mean", "one row per way to write a number"),
    "callback_matches": ("the door found for a callback that names none", "one row per callback"),
    "link_candidates": ("the doors that such a callback could belong to", "one row per callback and door"),
    "settings": ("the firm's settings, and the day that the records run to", "one row"),
    "catalogue_measures": ("what can be measured", "one row per measure"),
    "catalogue_deviations": ("what is made of readings and checks, and in which step", "one row per deviation"),
    "catalogue_limits": ("limits with their source and edition", "one row per limit"),
    "catalogue_faults": ("kinds of fault", "one row per fault"),
    "catalogue_pairs": ("which deviation the trade expects to bring which fault", "one row per pair"),
    "catalogue_gaps": ("gaps that a frame needs round it", "one row per material, colour and size"),
    "catalogue_expectations": ("what records should be like", "one row per expectation"),
}
_ALL = tuple(record.name for record in RECORDS)
# What taking in makes of the records, so that no model says of which.
_OF = {
    **dict.fromkeys(("files", "rejections", "unread_headings", "correction_ledger"), _ALL),
    **dict.fromkeys(("note_codes", "note_responsibility"), ("callbacks",)),
    **dict.fromkeys(("job_numbers", "callback_matches", "link_candidates"), ("installs", "callbacks")),
}
_TYPES = {NUMBER: "double", WHOLE: "integer", DAY: "date"}


@dataclass(frozen=True)
class Entry:
    """One table.

    kind       one of KINDS
    made_by    the file that makes it, or where it is from
    made_of    the tables that it reads itself; from_records: the firm's records at the end of that line
    read_by    the tables that read it
    """

    name: str
    kind: str
    purpose: str
    grain: str
    key: tuple[str, ...]
    left_out: str
    columns: tuple[Column, ...]
    made_by: str
    made_of: tuple[str, ...]
    from_records: tuple[str, ...]
    read_by: tuple[str, ...]
    is_view: bool = False

    def as_json(self) -> dict[str, Any]:
        """All of it for a program."""
        return asdict(self)


@cache
def dictionary() -> dict[str, Entry]:
    """Every table by name: results first in the order of their files, then what lies in between, then the sources."""
    graph = standard_graph()
    read_by = _readers(graph)
    made = {name: _of_model(graph, model, read_by) for name, model in graph.models.items()}
    sources = [_of_source(name, read_by) for name in (*RECORD_SOURCES, *CATALOGUE_SOURCES)]
    results = [made[name] for name in PUBLISHED if name in made]
    between = [entry for entry in made.values() if entry.kind == BETWEEN]
    return {entry.name: entry for entry in (*results, *between, *sources)}


def tables_with(column: str, entries: Iterable[Entry]) -> list[str]:
    """The names of the tables that have a column of that name."""
    return [entry.name for entry in entries if column in {one.name for one in entry.columns}]


def _readers(graph: Graph) -> dict[str, tuple[str, ...]]:
    names = (*graph.models, *graph.sources)
    return {
        name: tuple(sorted(other for other, model in graph.models.items() if name in model.reads)) for name in names
    }


def _of_model(graph: Graph, model: Model, read_by: dict[str, tuple[str, ...]]) -> Entry:
    header, up = model.header, graph.upstream(model.name)
    folder = "dbt_like_sql" if model.is_sql else "pipeline/model"
    return Entry(
        model.name,
        RESULT if model.name in PUBLISHED else BETWEEN,
        header.purpose.rstrip("."),
        header.grain,
        header.key,
        header.left_out,
        header.columns,
        f"{folder}/{model.where}",
        model.reads,
        tuple(name for name in _ALL if name in up or any(name in _OF[source] for source in up & set(_OF))),
        read_by[model.name],
        header.is_view,
    )


def _of_source(name: str, read_by: dict[str, tuple[str, ...]]) -> Entry:
    purpose, grain = SOURCES[name]
    record = next((record for record in RECORDS if record.name == name), None)
    columns = () if record is None else record.kept
    kind, made_by = (RECORD, OF_RECORDS) if name in RECORD_SOURCES else (CATALOGUE, OF_CATALOGUE)
    told = tuple(Column(one.name, _TYPES.get(one.kind, "text"), _meaning(one.is_required)) for one in columns)
    key = () if record is None else record.key
    origin = (name,) if record else _OF.get(name, ())
    return Entry(name, kind, purpose, grain, key, "", told, made_by, (), origin, read_by[name])


def _meaning(is_required: bool) -> str:
    return "required" if is_required else ""
