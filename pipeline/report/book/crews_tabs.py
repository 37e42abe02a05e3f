"""The sheets of the workbook about crews, their steps and trainings, and about the months behind and ahead."""

from pipeline.report.book.tab import (
    DAY,
    FLAG,
    LONG,
    MONEY,
    NUMBER,
    ONE_DECIMAL,
    SHARE,
    WHOLE,
    Column,
    Tab,
    with_interval,
)
from pipeline.report.catalogue_words import DEVIATION_WORDS
from pipeline.report.reading import WEAK_STEPS
from pipeline.report.rows.table_rows import LEAST_DOOR_YEARS
from pipeline.report.rows.training_rows import TRAINING_EFFECTS


def _with_rates_told(table: str) -> str:
    """SQL of the table, with a rate only where enough was watched to tell one."""
    told = ", ".join(
        f"CASE WHEN door_years >= {LEAST_DOOR_YEARS} THEN {name} END AS {name}"
        for name in ("rate", "rate_low", "rate_high")
    )
    return f"(SELECT * REPLACE ({told}) FROM {table})"


CREWS = Tab(
    "Crews",
    "callback_rates",
    "A row for each crew, the whole firm first; then from the most to the least watched.",
    "Compare crews by the fair ratio: callbacks against what the firm would have had on the very same doors; where its "
    "interval holds 1 the crew is not told apart. The rate alone also shows which doors a crew was sent to.",
    _with_rates_told("callback_rates"),
    (
        Column("crew", "crew"),
        Column("doors", "doors", WHOLE),
        Column("door-years watched", "door_years", ONE_DECIMAL),
        Column("callbacks it answers for", "callbacks", WHOLE),
        Column("all callbacks", "callbacks_all", WHOLE),
        *with_interval("callbacks per 100 door-years", "rate", "rate_low", "rate_high", ONE_DECIMAL),
        Column("expected callbacks", "expected", ONE_DECIMAL),
        *with_interval("fair ratio", "fair_ratio", "fair_low", "fair_high"),
        Column("against the funnel", "funnel"),
        Column("place, best", "place_low", WHOLE),
        Column("place, worst", "place_high", WHOLE),
        Column("crews compared", "crews_compared", WHOLE),
        *with_interval("through the steps measured", "steps_ratio", "steps_low", "steps_high"),
        *with_interval("what is left", "rest_ratio", "rest_low", "rest_high"),
        Column("cost", "cost", MONEY),
        Column("callbacks with known cost", "cost_known", WHOLE),
    ),
    "crew = 'all' DESC, door_years DESC, crew",
)
WEAK = Tab(
    "Weak steps",
    "weak_steps",
    "A row for each crew and step; first what practice would spare most callbacks a year.",
    "Out: doors with a limit out or a check failed, of doors with anything recorded in the step. Callbacks spared: if "
    "the crew worked as the firm's better half does; steps overlap, so do not add them up. No ranking of people.",
    f"({WEAK_STEPS})",
    (
        Column("crew", "crew"),
        Column("step", "step"),
        Column("doors recorded", "doors", WHOLE),
        Column("doors out", "doors_out", WHOLE),
        Column("undecided", "doors_undecided", WHOLE),
        *with_interval("share out", "out_share", "out_low", "out_high", SHARE),
        *with_interval("the firm's share", "firm_out_share", "firm_out_low", "firm_out_high", SHARE),
        *with_interval("expected of its next doors", "shrunk_share", "shrunk_low", "shrunk_high", SHARE),
        *with_interval("practice would spare a year", "priority", "priority_low", "priority_high", ONE_DECIMAL),
    ),
    "priority_low > 0 DESC NULLS LAST, priority DESC NULLS LAST, step_order, crew",
    frozen=2,
)
OUTS = Tab(
    "Out by crew",
    "crew_outs",
    "A row for each crew and deviation or check that it recorded, in the order of the work.",
    "What to look at with a crew: how many of its doors are out, of how many held against a limit in use or checked.",
    f"""(
        SELECT crew_outs.*, {DEVIATION_WORDS} AS words, deviation."do", deviation.step_order, deviation.ordinal
        FROM crew_outs
        JOIN catalogue_deviations AS deviation ON deviation.name = crew_outs.deviation
        WHERE deviation.role NOT IN ('variant', 'record')
    )""",
    (
        Column("crew", "crew"),
        Column("step", "step"),
        Column("deviation or check", "words", LONG),
        Column("doors", "doors", WHOLE),
        Column("recorded on", "doors_recorded", WHOLE),
        Column("judged", "doors_judged", WHOLE),
        Column("out", "doors_out", WHOLE),
        Column("undecided", "doors_undecided", WHOLE),
        Column("what to do", "do", LONG),
        Column("deviation, as in the tables", "deviation"),
    ),
    "crew, step_order, ordinal",
    "doors_recorded > 0",
    "of what a crew recorded on no door, and of other ways of measuring the same",
    3,
)
TRAINING = Tab(
    "Training",
    "training_effects",
    "A row for each crew trained in a step, and for all together: doors fitted after against doors fitted before.",
    "Below 1: fewer after the training than before, against crews not yet trained. Where the interval holds 1 it "
    "cannot be told. The 90 days before a training are left out of before, since crews are trained on bad luck too.",
    f"({TRAINING_EFFECTS})",
    (
        Column("crew", "crew"),
        Column("step", "step"),
        Column("trained on", "trained_on", DAY),
        Column("outcome", "outcome"),
        *with_interval("after against before", "ratio", "ratio_low", "ratio_high"),
        Column("p-value", "p_value", NUMBER),
        Column("doors before", "doors_before", WHOLE),
        Column("doors after", "doors_after", WHOLE),
        Column("out or called back before", "events_before", WHOLE),
        Column("out or called back after", "events_after", WHOLE),
        Column("doors of untrained crews", "doors_untrained", WHOLE),
        Column("note", "note", LONG),
    ),
    "outcome DESC, step_order, crew = 'all' DESC, crew",
    frozen=2,
)
MONTHS = Tab(
    "Months",
    "callback_months",
    "A row for each month, the oldest first.",
    "Judge by complete months only: paper about the last ones is still on its way.",
    _with_rates_told("callback_months"),
    (
        Column("month", "month"),
        Column("callbacks crews answer for", "callbacks", WHOLE),
        Column("all callbacks", "callbacks_all", WHOLE),
        Column("door-years watched", "door_years", ONE_DECIMAL),
        *with_interval("callbacks per 100 door-years", "rate", "rate_low", "rate_high", ONE_DECIMAL),
        Column("cost", "cost", MONEY),
        Column("share of paper arrived", "arrived_share", SHARE),
        Column("complete", "is_complete", FLAG),
    ),
    "month",
)
OUTLOOK_TAB = Tab(
    "Outlook",
    "outlook",
    "A row for each of the next twelve months, and one for all of them.",
    "All callbacks, whoever answers for them. The ends of the months do not add up to those of the total: months go "
    "well and badly on their own. 'too_few' says that there is too little to look ahead by.",
    "outlook",
    (
        Column("month", "month"),
        *with_interval("callbacks", "callbacks", "callbacks_low", "callbacks_high", ONE_DECIMAL),
        *with_interval("cost", "cost", "cost_low", "cost_high", MONEY),
        Column("from doors already out", "from_doors_out", ONE_DECIMAL),
        Column("from doors planned", "from_planned", ONE_DECIMAL),
        Column("made of", "basis"),
        Column("callbacks with known cost", "cost_known", WHOLE),
    ),
    "month = 'total', month",
)
SIGNALS_TAB = Tab(
    "Early warnings",
    "signals",
    "A row for each chart point out of control, the latest first.",
    "A reason to look, no verdict: with all charts together about one false alarm in two years is to be expected.",
    "signals",
    (
        Column("crew", "crew"),
        Column("last day of the point", "at", DAY),
        Column("what it means", "meaning", LONG),
        Column("since", "since", DAY),
        Column("step", "step"),
        Column("about", "subject"),
        Column("chart", "chart"),
        Column("now", "now", NUMBER),
        Column("before", "before", NUMBER),
        Column("doors since", "doors", WHOLE),
    ),
    '"at" DESC, crew, subject, chart',
)
