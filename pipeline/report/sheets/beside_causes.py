"""What stands beside the causes without being one: another measure of a cause, the signs by which a fault begins."""

from pipeline.report.numbers import as_name, count, counted, percent
from pipeline.report.rows.table_rows import LEAST_DOORS, Effect, RecordedShare
from pipeline.report.sheet import Block, Table
from pipeline.report.words.causes import times


def variants_table(effects: list[Effect]) -> list[Block]:
    """Each answered variant beside its cause; nothing where there is none."""
    variants = [effect for effect in effects if effect.role == "variant" and effect.is_answered]
    if not variants:
        return []
    mains = {(effect.deviation, effect.fault): effect for effect in effects if effect.role == "cause"}
    names = {effect.deviation: as_name(effect.words) for effect in effects}
    rows = tuple(_beside(variant, mains.get((variant.family, variant.fault)), names) for variant in variants)
    columns = ("measured as", "fault", "as often (95 %)", "its cause", "as often (95 %)", "callbacks", "doors")
    how = (
        "A variant stands beside its cause and is never a second one. Where the two differ much, see how each is read."
    )
    says = f"The same cause measured another way: {counted(len(rows), 'pair')}"
    return [Table("variants", says, columns, rows, how, frozenset({5, 6}))]


def _beside(variant: Effect, main: Effect | None, names: dict[str, str]) -> tuple[str, ...]:
    return (
        as_name(variant.words),
        as_name(variant.fault_words),
        times(variant),
        names.get(variant.family, variant.family.replace("_", " ")),
        times(main) or "too few" if main else "not recorded",
        count(variant.events),
        count(variant.doors),
    )


def symptoms_table(recorded: list[RecordedShare]) -> list[Block]:
    """The recorded signs of a fault that begins; nothing where there is none."""
    symptoms = [share for share in recorded if share.role == "symptom" and share.doors_recorded]
    if not symptoms:
        return []
    rows = tuple(_sign(symptom) for symptom in symptoms)
    columns = ("sign", "step", "doors recorded", "doors where the check failed")
    how = "First signs of a fault, worth a second look before leaving. They are never counted as causes."
    says = f"How a fault begins: {counted(len(rows), 'sign')} on record"
    return [Table("symptoms", says, columns, rows, how, frozenset({2, 3}))]


def _sign(symptom: RecordedShare) -> tuple[str, ...]:
    is_few = symptom.doors_recorded < LEAST_DOORS
    share = "too few to tell" if is_few else percent(symptom.doors_out / symptom.doors_recorded)
    failed = f"{count(symptom.doors_out)} ({share})"
    return (
        as_name(symptom.words),
        symptom.step,
        count(symptom.doors_recorded),
        failed if symptom.is_check else "a reading",
    )
