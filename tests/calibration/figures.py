"""The study's figures as a page of Markdown: each line in each scenario, and which do not hold."""

from collections.abc import Mapping
from datetime import date

import polars as pl

from pipeline.demo.scenarios import SCENARIOS
from tests.calibration.lines import LINES, Line

Frames = Mapping[str, pl.DataFrame]
HEAD = """# Calibration study

Simulated firms of 4,000 doors with a known truth (`pipeline/demo/scenarios.py`), measured by `make calibrate` on {day},
seed {seed}; {firms}. **Bold** with the bound beside it: the line does not hold; with few firms some do not by chance. A
dash: nothing to measure.
"""


def page(frames: Frames, seed: int, day: date) -> str:
    """The whole page."""
    by_scenario = [line for line in LINES if not line.is_pooled and line.part in frames]
    pooled = [line for line in LINES if line.is_pooled and line.part in frames]
    head = HEAD.format(day=day.isoformat(), seed=seed, firms=_firms(frames))
    tables = [*_grid(by_scenario, frames), "", *_list(pooled, frames), ""]
    return "\n".join([head, *_misses(by_scenario, pooled, frames), "", *tables])


def _misses(by_scenario: list[Line], pooled: list[Line], frames: Frames) -> list[str]:
    """Which lines do not hold, and where."""
    found = []
    for line in by_scenario:
        at = [(name, _figure(line, frames, name)) for name in SCENARIOS]
        cells = [f"{name} {_cell(line, value, name)}" for name, value in at if not _holds(line, value, name)]
        found += [f"- {line.name}: {'; '.join(cells)}"] if cells else []
    for line in pooled:
        value = line.figure(frames[line.part])
        found += [f"- {line.name}: {_cell(line, value, '')}"] if not _holds(line, value, "") else []
    n_lines = len(by_scenario) + len(pooled)
    return [
        f"Of {n_lines} lines {n_lines - len(found)} hold everywhere." + (" These do not:" if found else ""),
        "",
        *found,
    ]


def _holds(line: Line, figure: float | None, scenario: str) -> bool:
    return figure is None or line.holds(figure, scenario)


def _figure(line: Line, frames: Frames, scenario: str) -> float | None:
    table = frames[line.part].filter(pl.col("scenario") == scenario)
    return None if table.is_empty() else line.figure(table)


def _firms(frames: Frames) -> str:
    """How many firms each part is measured on."""
    counts = {}
    for name, frame in frames.items():
        firms = frame.group_by("scenario").agg(pl.col("seed").n_unique())["seed"].to_list()
        counts[name] = f"{min(firms)}" if min(firms) == max(firms) else f"{min(firms)} to {max(firms)}"
    return "firms in each scenario: " + ", ".join(f"{count} ({name})" for name, count in counts.items())


def _grid(lines: list[Line], frames: Frames) -> list[str]:
    rows = ["| scenario | " + " | ".join(line.name for line in lines) + " |", "| --- " + "| --- " * len(lines) + "|"]
    for scenario in SCENARIOS:
        cells = [_cell(line, _figure(line, frames, scenario), scenario) for line in lines]
        rows.append(f"| {scenario} | " + " | ".join(cells) + " |")
    return rows


def _list(lines: list[Line], frames: Frames) -> list[str]:
    rows = ["| over all scenarios | figure |", "| --- | --- |"]
    return rows + [f"| {line.name} | {_cell(line, line.figure(frames[line.part]), '')} |" for line in lines]


def _cell(line: Line, figure: float | None, scenario: str) -> str:
    if figure is None:
        return "–"
    if line.holds(figure, scenario):
        return f"{figure:.3f}"
    low, high = line.bounds(scenario)
    bound = f"at least {low:g}" if low is not None and figure < low else f"at most {high:g}"
    return f"**{figure:.3f}** ({bound})"
