"""What the records say, an answer for each sheet of the set: for the letter and for the workbook's first sheet."""

from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import Firm
from pipeline.report.sheet import Item, named
from pipeline.report.words import causes, intake, methods, outlook, rates, steps, years


def answers_of(results: Results, firm: Firm) -> tuple[Item, ...]:
    """One sentence or two for each of the sheets that answer something."""
    effects = results.effects()
    said = {
        "quality.html": causes.headline(effects),
        "training.html": steps.headline(results.weak_steps()),
        "owner.html": _rates(results, firm),
        "records.html": intake.headline(results.account()),
        "methods.html": methods.headline(results.other_ways()),
    }
    return led_to(said)


def led_to(said: dict[str, str]) -> tuple[Item, ...]:
    """Points that each lead to a sheet. said: by the sheet's file, in the order of the sheets."""
    names = {named(file_name): text for file_name, text in said.items()}
    return tuple(Item(text, f"{name.name}.", name.file_name, f"Sheet {name.number}") for name, text in names.items())


def _rates(results: Results, firm: Firm) -> str:
    """What the next year will cost, the rate and whether it gets better; what an act is worth the sheet tells."""
    if not firm.has_callback_log:
        return rates.NO_LOG
    found = results.rates()
    year = years.in_short(results.year_change())
    ahead = outlook.headline(results.outlook(), firm.currency)
    cost = "" if ahead else f"{rates.cost_says(found, firm)}."
    return " ".join(filter(None, (ahead, rates.headline(found), year, cost, rates.crews_apart(found))))
