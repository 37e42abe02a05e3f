"""On how many doors each step is recorded, as the records sheet takes it; nothing here rounds."""

from dataclasses import dataclass

RECORDED_STEPS = "SELECT * FROM recorded_steps ORDER BY crew = 'all' DESC, crew, step_order"
FIRM = "all"


@dataclass(frozen=True)
class RecordedStep:
    """One crew, or all, in one step (table `recorded_steps`)."""

    crew: str
    step: str
    doors: int
    doors_recorded: int
    recorded_share: float
