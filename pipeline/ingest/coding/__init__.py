"""Reads service notes: which faults they are about and who answers for them, with how sure that is, or `unclear`."""

from pipeline.ingest.coding.coded import code_notes

__all__ = ["code_notes"]
