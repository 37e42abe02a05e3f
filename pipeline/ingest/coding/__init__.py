"""Reads service notes: which faults they are about and who answers for them, with how sure that is, or `unclear`."""

from pipeline.ingest.coding.coded import code_notes, keep_as_read, learning_of

__all__ = ["code_notes", "keep_as_read", "learning_of"]
