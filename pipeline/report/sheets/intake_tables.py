"""The tables of the records sheet: the account, what was set aside, the checks, links and codes."""

from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, count, counted, percent
from pipeline.report.reading import Results
from pipeline.report.rows.intake_rows import Correction, DataCheck, ExpectationCheck, FileAccount, SetAside
from pipeline.report.rows.table_rows import LEAST_DOORS, RecordedShare, Tally
from pipeline.report.sheet import Block, Table
from pipeline.report.words import intake as words
from pipeline.report.words.common import sentence

MOST_FILES = 400
LEAST_PRINTED = 3  # lines on paper where nothing is odd
LINKS = {
    "install_id": "by the door's number",
    "job_no": "by its job number, of one door only",
    "matched": "by name, place and days",
    "none": "linked to no door",
}
CODES = {"keyed": "fault keyed", "note": "fault read from the note", "unclear": "no known fault: unclear"}
MOST_DISAGREEMENTS = 100
MOST_CORRECTIONS = 100
ODD_RECORDS = {
    "last_digits": "last digits other than measuring gives",
    "copied_doors": "doors that repeat the readings of an earlier door",
    "flat_boxes": "one value in all boxes of a member",
    "little_spread": "less spread than the instrument allows",
    "tape_misclosure": "six lengths that make no frame",
    "impossible_days": "readings on days that cannot be",
    "missing_where_called": "readings missing where a callback came",
    "inside_limits": "more values just inside a limit, and fewer beyond it, than careful work leaves",
}


def account_tables(account: list[FileAccount], results: Results) -> list[Block]:
    """The account by record, and what became of every file; the sums balance."""
    of_record = {file.record: [other for other in account if other.record == file.record] for file in account}
    rows = [
        (record, counted(len(found), "file"), *map(count, words.totals(found)))
        for record, found in of_record.items()
        if record
    ]
    n_of_records = sum(bool(file.record) for file in account)  # what is no record is only in the table behind
    everything = ("all", counted(n_of_records, "file"), *map(count, words.totals(account)))
    by_record = Table(
        "account",
        "The account: rows read = taken in + set aside + exact repeats",
        ("record", "from", "rows read", "= taken in", "+ set aside", "+ repeats"),
        (*rows, everything),
        "A row is one line of a file; where one line holds several readings side by side, each of them is a row.",
        frozenset({2, 3, 4, 5}),
        is_open=True,
    )
    return [by_record, _files_table(account, results)]


def _files_table(account: list[FileAccount], results: Results) -> Table:
    return Table(
        "files",
        f"The table behind: {counted(len(account), 'file')}",
        ("file", "record", "what became of it", "rows read", "= taken in", "+ set aside", "+ repeats", "why"),
        tuple(_account_cells(file) for file in account[:MOST_FILES]),
        "A vanished file keeps its rows; a file under the same name with new content replaces its old ones.",
        frozenset({3, 4, 5, 6}),
        download("intake_account", results.table("intake_account")),
    )


def _account_cells(file: FileAccount) -> tuple[str, ...]:
    counts = (file.rows_read, file.rows_taken_in, file.rows_set_aside, file.rows_repeated)
    numbers = tuple(count(part or 0) for part in counts)
    return (as_name(file.file), file.record or "", file.status, *numbers, as_name(file.reason))


def set_aside_table(listed: list[SetAside], total: int, results: Results) -> Table:
    """The first rows, cells and files that were set aside, of `total`."""
    how = f"Here stand the first {count(len(listed))}; tables/set_aside.csv has all." if len(listed) < total else ""
    return Table(
        "set-aside",
        f"What was set aside, where and why: {counted(total, 'line')}",
        ("file", "sheet", "row", "column", "what stands there", "why", "what is left out"),
        tuple(_set_aside_cells(entry) for entry in listed),
        how,
        frozenset({2}),
        download("set_aside", results.set_aside_frame()),
    )


def _set_aside_cells(entry: SetAside) -> tuple[str, ...]:
    row = "" if entry.row is None else str(entry.row)
    words_of = (entry.column, entry.value, entry.reason)
    return (as_name(entry.file), as_name(entry.sheet), row, *map(as_name, words_of), entry.scope)


def corrections_table(results: Results) -> list[Block]:
    """What people corrected in the workbook of what was set aside; nothing where nobody did."""
    made = results.corrections()
    if not made:
        return []
    saved = download("corrections", results.corrections_frame())
    rows = tuple(_correction_cells(one) for one in made[:MOST_CORRECTIONS])
    how = "The file of a row that was corrected stays as it is; where it comes with that row changed, the file counts."
    if len(made) > MOST_CORRECTIONS:
        how += f" Here stand the last {count(MOST_CORRECTIONS)}; tables/corrections.csv has all."
    columns = ("when", "who", "file", "sheet", "row", "column", "before", "after", "state")
    return [Table("corrections", words.corrections_says(made), columns, rows, how, frozenset({4}), saved)]


def _correction_cells(one: Correction) -> tuple[str, ...]:
    column = f"{one.column} ({one.heading})" if one.heading else one.column
    where = (as_name(one.who), as_name(one.file), as_name(one.sheet), str(one.row), as_name(column))
    return (f"{one.corrected_at:%Y-%m-%d}", *where, as_name(one.before), as_name(one.after), one.state)


def checks_table(checks: list[DataCheck], results: Results) -> list[Block]:
    """What the checks of the records found, in sentences; nothing where none was run."""
    if not checks:
        return []
    rows = tuple(
        (
            sentence(as_name(words.check_sentence(check))),
            check.record,
            *map(count, (check.rows_checked, check.rows_failing)),
        )
        for check in checks
    )
    columns = ("what was found", "record", "rows looked at", "rows concerned")
    how = "Odd is not wrong: these rows are in. Each line says what to look at."
    saved = download("data_checks", results.table("data_checks"))
    says, printed = words.checks_says(checks), max(sum(check.rows_failing > 0 for check in checks), LEAST_PRINTED)
    return [Table("checks", says, columns, rows, how, frozenset({2, 3}), saved, is_open=True, printed=printed)]


def expectations_table(checks: list[ExpectationCheck], results: Results) -> list[Block]:
    """What came of the expectations, built in and the firm's own; nothing where there are none."""
    if not checks:
        return []
    rows = tuple(_expectation_cells(check) for check in checks)
    columns = ("what was found", "record", "rows looked at", "otherwise", "such as", "outcome")
    how = (
        "What records should be like, as suites that can be read and added to with [[expectation]] in fitback.toml. "
        "All rows are in. One that could not be evaluated says nothing about the records."
    )
    saved = download("expectation_checks", results.table("expectation_checks"))
    says = words.expectations_say([check.outcome for check in checks])
    printed = max(sum(check.outcome != "met" for check in checks), LEAST_PRINTED)
    return [Table("expectations", says, columns, rows, how, frozenset({2, 3}), saved, is_open=True, printed=printed)]


def _expectation_cells(check: ExpectationCheck) -> tuple[str, ...]:
    counts = tuple("" if number is None else count(number) for number in (check.rows_checked, check.rows_failing))
    return (sentence(as_name(check.sentence)), check.record, *counts, as_name(check.example), check.outcome)


def recorded_table(recorded: list[RecordedShare], results: Results) -> Table:
    """On how many doors each deviation is recorded, and on how many of these it is out."""
    columns = ("deviation", "step", "doors recorded", "of all doors", "of these out")
    rows = tuple(_recorded_cells(share) for share in recorded)
    says = f"The table behind: {counted(len(rows), 'deviation')}"
    saved = download("crew_outs", results.table("crew_outs"))
    return Table("recorded-table", says, columns, rows, "", frozenset({2, 3, 4}), saved)


def _recorded_cells(share: RecordedShare) -> tuple[str, ...]:
    few = "too few" if share.doors_recorded else ""
    out = percent(share.doors_out / share.doors_recorded) if share.doors_recorded >= LEAST_DOORS else few
    return (as_name(share.words), share.step, count(share.doors_recorded), percent(share.share), out)


def links_table(linked: list[Tally], coded: list[Tally]) -> list[Block]:
    """How callbacks found their door and their fault; nothing without callbacks."""
    total = sum(tally.rows for tally in linked)
    if not total:
        return []
    named = [(LINKS.get(tally.name, tally.name), "door", tally.rows) for tally in linked]
    named += [(CODES.get(tally.name, tally.name), "fault", tally.rows) for tally in coded]
    rows = tuple((how, what, count(number), percent(number / total)) for how, what, number in named)
    says = "How callbacks found their door and their fault"
    how = "Where no door is likely enough, or several of one house are, a callback is linked to none, not guessed."
    return [Table("links", says, ("how", "what", "callbacks", "of all"), rows, how, frozenset({2, 3}), is_open=True)]


def link_rates_table(results: Results) -> list[Block]:
    """How well each crew's callbacks found their door; nothing where every one did."""
    rates = results.table("link_rates")
    if rates.is_empty() or rates["linked_share"].min() == 1:
        return []
    columns = ("crew", "callbacks", "by door number", "by job number", "by name and place", "house known", "none")
    rows = tuple(
        (
            as_name(row["crew"]),
            *map(count, (row["callbacks"], row["by_install_id"], row["by_job_no"], row["matched"])),
            *map(count, (row["held_at_house"], row["doubtful"] + row["unlinked"])),
        )
        for row in rates.iter_rows(named=True)
    )
    how = (
        "A callback without a door counts for the crew of its likeliest door. Where one crew's paper is worse than the "
        "others', its rate looks better than it is. To settle doubtful ones fill in links_to_review.xlsx and run again."
    )
    saved = download("link_rates", rates)
    says = "How well each crew's callbacks found their door"
    return [Table("link-rates", says, columns, rows, how, frozenset(range(1, 7)), saved)]


def credibility_table(results: Results) -> list[Block]:
    """What is odd about how a crew's readings were written; nothing where no crew was tested."""
    tested = results.table("record_credibility")
    if tested.is_empty():
        return []
    odd = [row for row in tested.iter_rows(named=True) if row["verdict"] in ("doubtful", "rounded")]
    rows = tuple(
        (as_name(row["crew"]), ODD_RECORDS.get(row["test"], row["test"]), row["verdict"], count(row["doors"]))
        for row in sorted(odd, key=lambda row: (row["verdict"], row["crew"], row["test"]))
    )
    few = tested.filter(tested["verdict"] == "too_few").height
    how = (
        "Each crew's readings were tested for what honest measuring does not leave behind, with false alarms held down "
        f"over all {counted(tested.height, 'test')}; {count(few)} had too few doors. Rounding only widens the "
        "uncertainty. A doubtful record is a reason to go along and measure a door together, never a proof."
    )
    says = words.credibility_says(tested["verdict"].to_list())
    saved = download("record_credibility", tested)
    columns = ("crew", "what was found", "verdict", "doors")
    return [Table("credibility", says, columns, rows, how, frozenset({3}), saved, is_open=True)]


def disagreements_table(results: Results) -> list[Block]:
    """Callbacks whose note is about another fault than was keyed; nothing where there is none."""
    found = results.table("note_disagreements")
    if found.is_empty():
        return []
    rows = tuple(
        (as_name(row["callback_id"]), as_name(row["keyed"]), as_name(row["noted"]), percent(row["confidence"]))
        for row in found.head(MOST_DISAGREEMENTS).iter_rows(named=True)
    )
    says = f"Notes about another fault than was keyed: {counted(found.height, 'line')}"
    how = "The keyed fault is used. Look at the note, and correct the key in your own file where the note is right."
    columns = ("callback", "keyed", "the note says", "how sure")
    return [Table("disagreements", says, columns, rows, how, frozenset({3}), download("note_disagreements", found))]
