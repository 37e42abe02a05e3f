"""What the records say, an answer for each sheet of the set: for the letter and for the workbook's first sheet."""

from pipeline.report.reading import Results
from pipeline.report.rows import Firm
from pipeline.report.sheet import SHEETS, Item
from pipeline.report.words import causes, intake, methods, rates, steps


def answers_of(results: Results, firm: Firm) -> tuple[Item, ...]:
    """One sentence or two for each of the sheets that answer something."""
    said = {
        "quality.html": causes.headline(results.effects()),
        "training.html": steps.headline(results.weak_steps()),
        "owner.html": _rates(results, firm),
        "records.html": intake.headline(results.account()),
        "methods.html": methods.headline(results.other_ways()),
    }
    return tuple(
        Item(said[name.file_name], f"{name.name}.", name.file_name, f"Sheet {name.number}")
        for name in SHEETS
        if name.file_name in said
    )


def _rates(results: Results, firm: Firm) -> str:
    if not firm.has_callback_log:
        return rates.NO_LOG
    found = results.rates()
    worth = causes.worth_money(results.effects(), firm.currency)
    return " ".join(filter(None, (rates.headline(found), f"{rates.cost_says(found, firm)}.", worth)))
