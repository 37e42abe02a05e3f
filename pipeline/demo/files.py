"""Finds the invented firm's files: inside the installed package, or in `data/demo` of a clone."""

from importlib.resources import files
from pathlib import Path

_CLONE = Path(__file__).resolve().parents[2]


def demo_folder() -> Path:
    """The folder that holds the invented firm's records; read-only, to be copied before use.

    An installed wheel carries it as `pipeline/demo/data`; a clone, or an install in place, as `data/demo`.
    """
    packaged = Path(str(files("pipeline.demo") / "data"))
    return packaged if packaged.is_dir() else _CLONE / "data" / "demo"


def clone_folder() -> Path | None:
    """The root of the clone that this code runs from, or None when it was installed from a wheel."""
    return _CLONE if (_CLONE / "pyproject.toml").is_file() and (_CLONE / "data" / "demo").is_dir() else None
