"""Which fault has which root cause, and what its limit is: the words of the table that the causes sheet opens with."""

from pipeline.report.numbers import as_name, capital, count, counted
from pipeline.report.rows.dose_rows import LimitAdvice
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words import dose
from pipeline.report.words.causes import claimed, is_hardly_any, times
from pipeline.report.words.common import few_in_words

Advice = dict[tuple[str, str], LimitAdvice]
COLUMNS = (
    "fault", "root cause", "as often with it (95 %)", "first callbacks", "spared a year (95 %)", "limit now",
    "1.5 times the risk from (95 %)", "advice",
)  # fmt: skip
HOW = (
    "As often: on the worse doors against the better ones. Spared: with every door at its limit; not to be added up, "
    "as causes overlap."
)


def shown(effects: list[Effect]) -> list[Effect]:
    """What has strong evidence, else what the records hint at; faults together, by the most that is spared of each."""
    found = claimed(effects, "strong") or claimed(effects, "suggestive")
    most: dict[str, int] = {}
    for place, effect in enumerate(found):  # the most avoidable first
        most.setdefault(effect.fault, place)
    return sorted(found, key=lambda effect: most[effect.fault])


def says(found: list[Effect], advice: Advice) -> str:
    """`Five faults and eight root causes, with the limit of each: one limit to move`; a hint is called one."""
    faults, deviations = {effect.fault for effect in found}, {effect.deviation for effect in found}
    kind = "root cause" if found[0].evidence == "strong" else "possible root cause"
    what = f"{_few(len(faults), 'fault')} and {_few(len(deviations), kind)}"
    rows = [(effect.deviation, advice.get((effect.fault, effect.deviation))) for effect in found]
    moved = {deviation for deviation, row in rows if row is not None and row.is_to_move}
    limits = f"{_few(len(moved), 'limit')} to move" if moved else "no limit to move"
    return f"{capital(what)}, with the limit of each: {limits}"


def first_limit(effects: list[Effect], advice: Advice) -> str:
    """The limit of the cause that the headline names, and what to do with it; empty where no cause is shown."""
    strong = claimed(effects, "strong")
    if not strong:
        return ""
    if strong[0].is_check:
        return "Its limit: passed on every door."
    row = advice.get((strong[0].fault, strong[0].deviation))
    if row is None or row.limit_now is None:
        return "No limit is in use for it."
    moved = f", as 1.5 times the risk begins at {dose.risk_words(row)}" if row.advice == "tighten" else ""
    return f"Its limit, {dose.limit_now(row)}: {row.advice}{moved}."


def _few(number: int, noun: str) -> str:
    return f"{few_in_words(number)} {noun}{'' if number == 1 else 's'}"


def cells(effect: Effect, row: LimitAdvice | None) -> tuple[str, ...]:
    """One line of the table."""
    return (
        as_name(effect.fault_words),
        as_name(effect.words),
        times(effect),
        f"{count(effect.events)} on {counted(effect.doors, 'door')}",
        _spared(effect),
        *_limit(effect, row),
    )


def _spared(effect: Effect) -> str:
    if effect.avoidable is None:
        return "not known yet"
    return "hardly any" if is_hardly_any(effect) else effect.avoidable.words()


def _limit(effect: Effect, row: LimitAdvice | None) -> tuple[str, str, str]:
    """The limit in use, where risk begins, and what to do with that limit."""
    if effect.is_check:
        return "passed on every door", "a check, no curve", "keep"
    if row is None:
        return "none", "no curve", ""
    return dose.limit_now(row), dose.risk_words(row), row.advice if row.limit_now is not None else "there is none"
