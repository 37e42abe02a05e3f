"""What came in and what did not: sentences about files, rows, links and codes."""

import re

from pipeline.report.numbers import as_name, capital, count, counted, listed, percent
from pipeline.report.rows.intake_rows import Correction, DataCheck, FileAccount, Reason
from pipeline.report.rows.table_rows import LEAST_DOORS, RecordedShare, Tally
from pipeline.report.words.common import few_in_words

LEAST_SHARE = 0.2
NOT_TAKEN_IN = ("refused", "not read")
COMES_IN_BY_ITSELF = "this comes in by itself once that is mended"


def totals(account: list[FileAccount]) -> tuple[int, int, int, int]:
    """Rows read, taken in, set aside, repeated, over all files."""
    return (
        sum(file.rows_read or 0 for file in account),
        sum(file.rows_taken_in or 0 for file in account),
        sum(file.rows_set_aside or 0 for file in account),
        sum(file.rows_repeated or 0 for file in account),
    )


def headline(account: list[FileAccount]) -> str:
    """The account in one sentence; it always balances."""
    read, taken_in, set_aside, repeated = totals(account)
    if not read:
        return "No row has been read."
    rows, repeats = counted(read, "row"), counted(repeated, "exact repeat")
    if not set_aside:
        return f"All {rows} read are in, and none waits to be mended: {count(taken_in)} taken in + {repeats}."
    wait = f"{counted(set_aside, 'row')} {'waits' if set_aside == 1 else 'wait'} to be mended"
    parts = f"{count(taken_in)} taken in + {count(set_aside)} set aside + {repeats}"
    return f"{wait}, {percent(set_aside / read)} of {rows} read: {parts}."


def corrections_says(made: list[Correction]) -> str:
    """How many corrections count, and how many no longer do."""
    states = [one.state for one in made]
    in_force, old, waiting = (states.count(state) for state in ("in force", "superseded", "waiting"))
    others = [f"{count(old)} superseded"] * bool(old) + [f"{count(waiting)} waiting for a file"] * bool(waiting)
    said = f"{counted(in_force, 'correction')} in force"
    return f"Corrected by hand: {', '.join([said, *others])}"


def files_sentence(account: list[FileAccount]) -> str:
    """How many files there are, and which were not taken in."""
    usable = [file for file in account if file.status not in NOT_TAKEN_IN]
    left = [as_name(file.file) for file in account if file.status in NOT_TAKEN_IN]
    others = f"; not taken in: {listed(left, 5)}" if left else ""
    return f"{counted(len(usable), 'file')} taken in{others}."


def reasons_say(reasons: list[Reason]) -> str:
    """Caption of the reasons: the most frequent one."""
    total, first = sum(reason.rows for reason in reasons), reasons[0]
    if waits_for_door(first):
        waits = "waits" if first.rows == 1 else "wait"
        return f"{count(first.rows)} of {counted(total, 'line')} set aside only {waits} for a door that is set aside"
    what = f"{as_name(first.place)}: {as_name(first.words)}"
    if first.rows == 1 < total:
        return f"Each of {counted(total, 'line')} set aside has a reason of its own, such as {what}"
    return f"{count(first.rows)} of {counted(total, 'line')} set aside {_is(first.rows)} of one kind, such as {what}"


def waits_for_door(reason: Reason) -> bool:
    """Nothing is wrong with these rows but that their door is set aside."""
    return as_name(reason.words).endswith(COMES_IN_BY_ITSELF)


def in_short(reason: Reason) -> str:
    """The reason without what to do about it, which the table tells."""
    said = as_name(reason.words).split("; ")[0]
    return f"its {said.split(' (')[0]}" if waits_for_door(reason) else said


def mend_first(reasons: list[Reason]) -> str:
    """What to begin with: rows that wait for their door need nothing but that door."""
    if waits_for_door(reasons[0]):
        return "Mend the rows of the doors first: what hangs on them comes in by itself. Then the longest bar."
    return "Mend the longest bar first: it is often one habit of one sheet."


def lost_share(linked: list[Tally]) -> float:
    """Share of callbacks that are linked to no door; 0 where none was reported."""
    total = sum(tally.rows for tally in linked)
    return sum(tally.rows for tally in linked if tally.name == "none") / total if total else 0.0


def linked_sentence(linked: list[Tally]) -> str:
    """How many callbacks are known to belong to a door."""
    total = sum(tally.rows for tally in linked)
    lost = sum(tally.rows for tally in linked if tally.name == "none")
    if not total:
        return "No callback has been reported."
    if not lost:
        return (
            "The one callback is linked to a door."
            if total == 1
            else f"All {count(total)} callbacks are linked to a door."
        )
    known = f"{count(total - lost)} of {counted(total, 'callback')} {_is(total - lost)} linked to a door"
    rest = "is not and counts" if lost == 1 else "are not and count"
    return f"{known}; {_with_share(lost, total)} {rest} in no rate."


def _is(number: int) -> str:
    return "is" if number == 1 else "are"


def _with_share(part: int, total: int) -> str:
    # Of a handful a share in per cent says more than is known.
    return count(part) if total < LEAST_DOORS else f"{count(part)} ({percent(part / total)})"


def coded_sentence(coded: list[Tally]) -> str:
    """How many callbacks have their fault keyed, how many read from the note, and how many have none."""
    rows = {tally.name: tally.rows for tally in coded}
    total, noted, unclear = sum(rows.values()), rows.get("note", 0), rows.get("unclear", 0)
    if not total:
        return ""
    if not (noted or unclear):
        return "Every callback has its fault keyed."
    has, they = ("has", "it counts") if unclear == 1 else ("have", "they count")
    lost = f"{_with_share(unclear, total)} {has} no known fault: {they} in the rates, but can be tied to no cause."
    read = f"For {_with_share(noted, total)} the fault was read from the note." if noted else ""
    return " ".join(filter(None, (read, lost if unclear else "")))


def credibility_says(verdicts: list[str]) -> str:
    """Heading of the tests of the records."""
    doubtful, rounded = verdicts.count("doubtful"), verdicts.count("rounded")
    if not (doubtful or rounded):
        return "No crew's readings look other than measured"
    found = [f"{counted(doubtful, 'finding')} in doubt"] if doubtful else []
    found += [f"{counted(rounded, 'record')} rounded"] if rounded else []
    return capital(f"Of the crews' readings, {' and '.join(found)}")


def check_sentence(check: DataCheck) -> str:
    """What a check found, its two counts written as everywhere on the pages: 1,494, not 1494."""
    said = check.sentence
    for rows in {check.rows_failing, check.rows_checked}:
        said = re.sub(rf"\b{rows}\b", count(rows), said, count=1)
    return said


def checks_says(checks: list[DataCheck]) -> str:
    """Heading of the data checks."""
    failing = sum(check.rows_failing > 0 for check in checks)
    if not checks:
        return "No check of the records was run"
    if not failing:
        return f"{counted(len(checks), 'check')} of the records found nothing odd"
    return f"{capital(few_in_words(failing))} of {counted(len(checks), 'check')} found something odd in the records"


def expectations_say(outcomes: list[str]) -> str:
    """Heading of the expectations: how many are not met, and how many could not be evaluated."""
    missed, unknown = outcomes.count("not met"), outcomes.count("not evaluated")
    total = counted(len(outcomes), "expectation")
    left = f"; {few_in_words(unknown)} could not be evaluated" if unknown else ""
    if not missed:
        return f"None of {total} on the records is missed{left}"
    return f"{capital(few_in_words(missed))} of {total} on the records {_is(missed)} not met{left}"


def recorded_says(recorded: list[RecordedShare]) -> str:
    """Caption of the recorded shares."""
    if not recorded or not recorded[0].doors:
        return "No door is on record"
    enough = sum(share.share >= LEAST_SHARE for share in recorded)
    doors, least = counted(recorded[0].doors, "door"), percent(LEAST_SHARE)
    if not enough:
        return f"Nothing is recorded on as many as {least} of {doors}, so no cause can be looked for"
    which = f"{count(enough)} of {count(len(recorded))} deviations"
    return f"{which} {_is(enough)} recorded on {least} of {doors} or more{_on_none(recorded)}"


def _on_none(recorded: list[RecordedShare]) -> str:
    never = [share for share in recorded if not share.doors_recorded]
    possible = sum(share.role == "cause" for share in never)
    others = "; the rest are signs and other ways of measuring" if len(never) > possible else ""
    causes = f" ({counted(possible, 'possible cause')} among them{others})" if possible else ""
    return f", {count(len(never))} on none{causes}" if never else ""
