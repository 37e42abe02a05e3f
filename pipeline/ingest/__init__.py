"""From a folder of files to records.duckdb and people.duckdb: read, judged, accounted for, kept with their history."""

from pipeline.ingest.account import Account
from pipeline.ingest.take import Intake, take_in

__all__ = ["Account", "Intake", "take_in"]
