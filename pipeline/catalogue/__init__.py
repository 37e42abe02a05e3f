"""Steps, faults, measures, checks, deviations and limits: data in TOML, read into typed rows."""

from pipeline.catalogue.customs import Customs, Sign
from pipeline.catalogue.reader import load_catalogue
from pipeline.catalogue.rows import Catalogue, Check, Deviation, Fault, Limit, Measure, Pair, Unit
from pipeline.catalogue.tables import catalogue_tables

__all__ = [
    "Catalogue",
    "Check",
    "Customs",
    "Deviation",
    "Fault",
    "Limit",
    "Measure",
    "Pair",
    "Sign",
    "Unit",
    "catalogue_tables",
    "load_catalogue",
]
