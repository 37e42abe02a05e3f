"""Which file makes which table, and in what order.

Takes the models that were found and the names of the source tables; gives them in build order, with what
lies up- and downstream of each. Refuses unknown names, cycles and a model that reads a higher layer. Never
opens a database.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from graphlib import CycleError, TopologicalSorter

from pipeline.errors import did_you_mean
from pipeline.model_files import LAYERS, Model, ModelError, find_models

RECORD_SOURCES = (
    "installs",
    "readings",
    "checks",
    "callbacks",
    "crews",
    "training",
    "instruments",
    "files",
    "rejections",
    "unread_headings",
    "correction_ledger",
    "note_codes",
    "note_responsibility",
    "job_numbers",
    "callback_matches",
    "link_candidates",
)
CATALOGUE_SOURCES = (
    "settings",
    "catalogue_measures",
    "catalogue_deviations",
    "catalogue_limits",
    "catalogue_faults",
    "catalogue_pairs",
    "catalogue_gaps",
    "catalogue_expectations",
)


@dataclass(frozen=True)
class Graph:
    """The models by table name, each after all that it reads, and the tables that no model makes."""

    models: dict[str, Model]
    sources: tuple[str, ...]

    def upstream(self, table: str, given: Iterable[str] = ()) -> set[str]:
        """Everything that `table` is made from, sources included, itself not; and nothing that only `given` need."""
        found: set[str] = set()
        given, waiting = set(given), list(self._reads(table))
        while waiting:
            name = waiting.pop()
            if name not in found:
                found.add(name)
                waiting.extend(() if name in given else self._reads(name))
        return found

    def downstream(self, tables: Iterable[str]) -> set[str]:
        """Every model that reads one of `tables`, directly or through others, the tables themselves not."""
        reached = set(tables)
        for name, model in self.models.items():
            if reached.intersection(model.reads):
                reached.add(name)
        return reached - set(tables)

    def between(self, replaced: Iterable[str], table: str) -> list[str]:
        """The models to make anew for `table` when `replaced` are given: build order, `table` last."""
        replaced = set(replaced)
        wanted = (self.downstream(replaced) & self.upstream(table, replaced)) | {table}
        return [name for name in self.models if name in wanted - replaced]

    def _reads(self, table: str) -> tuple[str, ...]:
        return self.models[table].reads if table in self.models else ()


@cache
def standard_graph() -> Graph:
    """The graph of the models that come with fitback."""
    return make_graph(find_models(), (*RECORD_SOURCES, *CATALOGUE_SOURCES))


def make_graph(models: dict[str, Model], sources: Iterable[str]) -> Graph:
    """The models in build order. Raises ModelError for a name, an order or a layer that cannot be."""
    known = tuple(sources)
    for model in models.values():
        _check_names(model, models, known)
        _check_layer(model, models)
    reads = {name: sorted(set(model.reads) & set(models)) for name, model in sorted(models.items())}
    try:
        order = list(TopologicalSorter(reads).static_order())
    except CycleError as error:
        raise ModelError(f"these tables read one another in a circle: {' -> '.join(error.args[1])}") from error
    order.sort(key=lambda name: models[name].header.is_last)  # a stable sort: all else stays in its order
    return Graph({name: models[name] for name in order}, known)


def _check_names(model: Model, models: dict[str, Model], sources: tuple[str, ...]) -> None:
    if model.name in sources:
        raise ModelError(f"{model.where}: {model.name} is a source table; choose another name")
    for name in model.reads:
        if name in models and models[name].header.is_last and not model.header.is_last:
            raise ModelError(f"{model.where} reads {name}, which is made last")
        if name not in models and name not in sources:
            hint = did_you_mean(name, [*models, *sources])
            raise ModelError(f"{model.where} reads {name}, which no file makes{hint}")


def _check_layer(model: Model, models: dict[str, Model]) -> None:
    height = LAYERS.index(model.layer)
    below = ", ".join(["records", *LAYERS[:height]])
    for name in model.reads:
        if name in models and LAYERS.index(models[name].layer) > height:
            raise ModelError(f"{model.name} reads {name}; {model.layer} may read only {below} and itself")
