"""The typed path for large files."""
