"""The drawings, a module a subject: rows in, Altair charts out."""
