"""The files of a folder: which record each belongs to, and every form of file read as text."""
