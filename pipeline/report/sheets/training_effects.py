"""The part of the training sheet about what trainings did."""

from pipeline.report.charts.training import training_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import capital, counted
from pipeline.report.reading import Results
from pipeline.report.rows.training_rows import TrainingEffect
from pipeline.report.sheet import Block, Figure, Passage, Table
from pipeline.report.words import training as words

MOST_ROWS = 400
COLUMNS = (
    "crew",
    "step",
    "trained on",
    "sessions",
    "outcome",
    "since / before (95 %)",
    "days without training that differ as much",
    "doors before",
    "doors since",
    "90 days before / earlier (95 %)",
    "plain since / before",
    "why none",
)


def training_blocks(results: Results) -> list[Block]:
    """A figure an outcome, and the table behind; where no training is on record, how to put one there."""
    effects = results.training_effects()
    if not effects:
        return [Passage("trainings", words.NONE, (words.ADD,))]
    by_outcome = {outcome: [one for one in effects if one.outcome == outcome] for outcome in words.OUTCOMES}
    told = [(outcome, found) for outcome, found in by_outcome.items() if found]
    drawn = [outcome for outcome, found in told if any(one.change for one in found)]
    figures = [_figure(outcome, found, is_first=outcome in drawn[:1]) for outcome, found in told]
    return [*figures, _table(effects, results)]


def _figure(outcome: str, effects: list[TrainingEffect], is_first: bool) -> Block:
    says, key = words.says(effects, outcome), f"trained-{outcome.replace('_', '-')}"
    if not any(effect.change for effect in effects):
        return Passage(key, says, ("The table has how many doors there are, and what is missing.",))
    title = f"{capital(words.OUTCOMES[outcome])} since a training"
    drawing = draw(lambda is_narrow: training_chart(effects, is_narrow), key, title, says)
    return Figure(
        key,
        says,
        words.HOW if is_first else "Read as the figure before, of callbacks in place of doors that are out.",
        drawing,
        words.DO,
    )


def _table(effects: list[TrainingEffect], results: Results) -> Table:
    says = f"The table behind: {counted(len(effects), 'comparison')} of trainings"
    rows = tuple(words.cells(effect) for effect in effects[:MOST_ROWS])
    saved = download("training_effects", results.table("training_effects"))
    return Table("trained", says, COLUMNS, rows, "", frozenset({3, 6, 7, 8, 10}), saved)
