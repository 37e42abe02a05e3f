"""Tables being made in other processes, whole or in parts, until their rows are back."""

from typing import TYPE_CHECKING

from pipeline.building.side_processes import Job, SideProcesses
from pipeline.building.table_making import build_frame
from pipeline.model_files import Model

if TYPE_CHECKING:
    import polars as pl

# More parts than processes, so that one that comes late to it still finds some left.
PARTS_EACH = 2


class MadeBeside:
    """Cuts tables into jobs for the processes and puts what comes back together."""

    def __init__(self, sides: SideProcesses) -> None:
        self._sides = sides
        self._tables: dict[str, list[str]] = {}
        self._rows: dict[str, pl.DataFrame | None] = {}

    @property
    def has_free(self) -> bool:
        """Whether a process has nothing to do."""
        return self._sides.has_free

    @property
    def tables(self) -> set[str]:
        """The tables that are being made."""
        return set(self._tables)

    def begin(self, model: Model, frames: "dict[str, pl.DataFrame]") -> None:
        """Has the model's table made of the frames."""
        n_parts = PARTS_EACH * self._sides.count if model.asks_part else 1
        parts = [(number, n_parts) for number in range(n_parts)]
        jobs = [Job(f"{model.name} {number}", build_frame, (model, frames, part)) for number, part in enumerate(parts)]
        self._tables[model.name] = [job.name for job in jobs]
        for job in jobs:
            self._sides.begin(job)

    def finished(self, can_wait: bool = False) -> "dict[str, pl.DataFrame | None]":
        """The tables whose rows are all back since the last call; None where a process failed.

        can_wait  wait for a job to end, or a newly free process, where a table is being made
        """
        self._rows |= {done.job: done.value for done in self._sides.finished(can_wait)}
        whole = [table for table, jobs in self._tables.items() if self._rows.keys() >= set(jobs)]
        return {table: self._together([self._rows.pop(job) for job in self._tables.pop(table)]) for table in whole}

    @staticmethod
    def _together(parts: "list[pl.DataFrame | None]") -> "pl.DataFrame | None":
        import polars as pl

        whole = [part for part in parts if part is not None]
        return pl.concat(whole) if len(whole) == len(parts) else None
