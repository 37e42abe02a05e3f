"""Words of the linked sheet that stay whatever its reader chooses; those that follow the choice are in explore.js."""

from pipeline.report.numbers import counted, listed
from pipeline.report.rows.table_rows import LEAST_DOOR_YEARS, LEAST_DOORS
from pipeline.report.words.rates import WHAT_TO_ADD

HEADLINE = "Choose a crew, a product, a time and a fault once: every drawing below follows"
STEPS_ALONE = "Choose a crew, a product and a time: how often each step is out follows"
LETTER = "Choose a crew, a product, a time and a fault once, and every drawing of that sheet follows."
LETTER_OF_STEPS = "Choose a crew, a product and a time, and see how often each step is out. Faults need a callback log."
NOTHING_YET = "No door was watched and no step recorded yet, so there is nothing to choose from."
LEAD = (
    "Callbacks that open an episode and that crews answer for, by the day they were reported, over the time doors were "
    "watched. Rates are per 100 door-years; each has a 95 % interval, exact for its count."
)
NOT_ADJUSTED = (
    "Nothing here is adjusted for the doors: a crew with wider doors or harsher sites has more callbacks and works no "
    "worse. The sheets before this one compare like with like; this one is for looking, and for what to ask of them."
)
BY_CHANCE = (
    "Whoever looks at many choices finds some that stand apart by chance alone: one line in twenty. What you find here "
    "is a question to ask, not an answer to act on."
)
READ = (
    "Each line is a 95 % interval with its estimate; the chain line is the average that the sentence above names, with "
    "all else chosen alike. What is not of your choice is grey. Too few: the average would bring under four callbacks "
    "in that time, so that not even none would differ from it."
)
HOW = {
    "periods": f"{READ} A quarter marked … still waits for paper.",
    "crews": "Read as above. The most watched crew stands first, not the best or the worst.",
    "products": "Read as above.",
    "faults": (
        "Callbacks in which the fault was found; one with two faults counts in both, so the lines do not add up. Once "
        "you choose, a short chain line is the firm's own rate of that fault, over all its time."
    ),
    "steps": (
        "Doors with a limit out or a check failed, of those with anything recorded in the step. The time chosen is "
        "that of fitting, and a fault does not narrow it. With a crew chosen, a short chain line is all crews. Under "
        "{least} doors nothing is told."
    ),
}
DO = {
    "periods": "Before you say that something changed, see whether the lines before and after part.",
    "crews": "To compare crews fairly go to sheet 4; here see whether one has the same fault in every product.",
    "products": "A product that stands apart in every crew is one to speak of with its maker.",
    "faults": "For what goes with a fault go to sheet 2, Causes.",
    "steps": "What to practise, with what it is worth, stands on sheet 3, Weak steps.",
}
TITLES = {
    "periods": "Callbacks per 100 door-years, quarter by quarter",
    "crews": "Callbacks per 100 door-years, crew by crew",
    "products": "Callbacks per 100 door-years, product by product",
    "faults": "Callbacks per 100 door-years, fault by fault",
    "steps": "Doors with something out, step by step",
}
CONTROLS = {"crew": "every crew", "product": "every product", "fault": "every fault"}
_RATE_COLUMNS = ("callbacks", "door-years", "per 100 door-years (95 %)", "against the average")
COLUMNS = {
    **{f"{name}s": (name, *_RATE_COLUMNS) for name in ("period", "crew", "product", "fault")},
    "steps": ("step", "doors out", "doors", "share out (95 %)", "against all crews"),
}
MIND = "Before you believe what you found"
RATE_TITLE, SHARE_TITLE = "callbacks per 100 door-years", "doors with something out, %"


def pooled(others: dict[str, int]) -> str:
    """What stands together as others: names and how many of each; empty where nothing does."""
    if not others:
        return ""
    names = listed([counted(number, name) for name, number in others.items()])
    return f"The least watched or rarest stand together as others, so that the page stays small: {names}."


def to_add(has_log: bool, door_years: float, doors: int) -> list[str]:
    """What the records lack before this sheet can tell anything, a paragraph each; nothing where it can.

    doors  with anything recorded in the step that is recorded most
    """
    asked = []
    if doors < LEAST_DOORS:
        asked.append(
            "Add readings.csv, one row per reading, and checks.csv, one row per check. A step is told from "
            f"{LEAST_DOORS} doors on that have one of either; the step recorded most often has "
            f"{counted(doors, 'such door')}."
        )
    if not has_log:
        asked.append(WHAT_TO_ADD)
    elif door_years < LEAST_DOOR_YEARS:
        asked.append(
            "A rate is told once doors have been watched for one door-year together, twelve doors for a month. Keep "
            "adding doors with the day of their handover to installs.csv, and every callback to callbacks.csv."
        )
    return asked
