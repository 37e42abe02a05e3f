"""The sheets of the workbook about the records themselves: what came in, what is recorded, what looks odd."""

from pipeline.report.book.tab import LONG, NUMBER, SHARE, WHOLE, Column, Tab

RECORDED_TAB = Tab(
    "Recorded",
    "recorded_steps",
    "A row for each crew and step, the whole firm first: on how many doors anything of the step is recorded.",
    "Not recorded is never taken as good. Where a crew records little, nothing can be said of its work there.",
    "recorded_steps",
    (
        Column("crew", "crew"),
        Column("step", "step"),
        Column("doors", "doors", WHOLE),
        Column("doors with anything recorded", "doors_recorded", WHOLE),
        Column("share recorded", "recorded_share", SHARE),
    ),
    "crew = 'all' DESC, crew, step_order",
    frozen=2,
)
ACCOUNT = Tab(
    "Files",
    "intake_account",
    "A row for each file and record made of it: rows read = taken in + set aside + exact repeats.",
    "What was set aside stands row by row in set_aside.xlsx beside this workbook, to be corrected there.",
    "intake_account",
    (
        Column("file", "file", LONG),
        Column("record", "record"),
        Column("what became of it", "status"),
        Column("rows read", "rows_read", WHOLE),
        Column("taken in", "rows_taken_in", WHOLE),
        Column("set aside", "rows_set_aside", WHOLE),
        Column("exact repeats", "rows_repeated", WHOLE),
        Column("why", "reason", LONG),
    ),
    "record IS NULL, record, file, status, rows_read DESC",
)
CHECKS_TAB = Tab(
    "Checks of records",
    "data_checks",
    "A row for each check of the records, those that found something first.",
    "Odd is not wrong: these rows are in. Each line says what to look at.",
    "data_checks",
    (
        Column("what was found", "sentence", LONG),
        Column("record", "record"),
        Column("rows looked at", "rows_checked", WHOLE),
        Column("rows concerned", "rows_failing", WHOLE),
        Column("check", "check", LONG),
    ),
    'rows_failing = 0, record, "check"',
)
LINKS = Tab(
    "Links",
    "link_rates",
    "A row for each crew: how its callbacks found their door.",
    "Where one crew's paper is worse than the others', its rate looks better than it is.",
    "link_rates",
    (
        Column("crew", "crew"),
        Column("callbacks", "callbacks", WHOLE),
        Column("by door number", "by_install_id", WHOLE),
        Column("by job number", "by_job_no", WHOLE),
        Column("by name and place", "matched", WHOLE),
        Column("house known, door not", "held_at_house", WHOLE),
        Column("doubtful", "doubtful", WHOLE),
        Column("linked to none", "unlinked", WHOLE),
        Column("share linked", "linked_share", SHARE),
    ),
    "crew",
)
CREDIBILITY = Tab(
    "Do records look measured",
    "record_credibility",
    "A row for each crew and test of its readings, those in doubt first.",
    "Doubtful is a question to ask, never proof against a person: a worn gauge or a clerk's copying looks the same.",
    "record_credibility",
    (
        Column("crew", "crew"),
        Column("test", "test"),
        Column("verdict", "verdict"),
        Column("doors", "doors", WHOLE),
        Column("q-value", "q_value", NUMBER),
    ),
    "array_position(['doubtful', 'rounded', 'plausible', 'too_few'], verdict), crew, test",
    frozen=2,
)
