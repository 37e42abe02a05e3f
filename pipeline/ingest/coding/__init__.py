"""Reads service notes: which faults they are about and who answers for them, with how sure that is, or `unclear`."""
