"""The study's figures as a page of Markdown: each line in each scenario, and which do not hold."""

from collections.abc import Mapping
from datetime import date

import polars as pl

from pipeline.demo.scenarios import SCENARIOS
from tests.calibration.lines import LINES, Line

Frames = Mapping[str, pl.DataFrame]
HEAD = """# Calibration study

Simulated firms of 4,000 doors with a known truth (`pipeline/demo/scenarios.py`), measured by `make calibrate` on {day},
seed {seed}: {firms}. **Bold** with the bound beside it: the line does not hold. A dash: nothing to measure.
"""


def page(frames: Frames, seed: int, day: date) -> str:
    """The whole page."""
    by_scenario = [line for line in LINES if not line.is_pooled and line.part in frames]
    pooled = [line for line in LINES if line.is_pooled and line.part in frames]
    head = HEAD.format(day=day.isoformat(), seed=seed, firms=_firms(frames))
    return "\n".join([head, *_grid(by_scenario, frames), "", *_list(pooled, frames), ""])


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
        cells = []
        for line in lines:
            table = frames[line.part].filter(pl.col("scenario") == scenario)
            cells.append(_cell(line, None if table.is_empty() else line.figure(table), scenario))
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
