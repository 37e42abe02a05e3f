"""The day the records were drawn: as the firm says, else the latest callback, handover or fitting."""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from pipeline.ingest.history.store import one_row

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class LastDay:
    """The last day that can be: as_of where the firm tells it, else today."""

    day: date
    is_told: bool

    @property
    def words(self) -> str:
        """The day, and why it is the last."""
        return f"{self.day}, the day the records were drawn" if self.is_told else f"today ({self.day})"


def find_as_of(connection: "duckdb.DuckDBPyConnection", told: date | None) -> date | None:
    """The firm's own as_of, else the latest of those dates among the current rows; None without any door."""
    n_doors, day = one_row(
        connection,
        """
        SELECT (SELECT count(*) FROM installs), max(day) FROM (
            SELECT max(reported_on) AS day FROM callbacks
            UNION ALL SELECT max(handed_over_on) FROM installs
            UNION ALL SELECT max(fitted_on) FROM installs)
        """,
    )
    return (told or day) if n_doors else None
