"""The sheets of the workbook about causes, their risk curves and their limits."""

from pipeline.report.book.tab import FLAG, LONG, MONEY, NUMBER, ONE_DECIMAL, SHARE, WHOLE, Column, Tab, with_interval
from pipeline.report.catalogue_words import DEVIATION_WORDS, fault_words
from pipeline.report.reading import EFFECTS, LIMITS
from pipeline.report.rows.dose_rows import ADVICE, CURVE_POINTS
from pipeline.report.rows.first_cause_rows import FIRST_CAUSES
from pipeline.report.rows.part_rows import PARTS

CODES = (Column("deviation, as in the tables", "deviation"), Column("fault, as in the tables", "fault"))
SURE_FIRST = "evidence = 'strong' DESC, evidence = 'suggestive' DESC"

CAUSES = Tab(
    "Causes",
    "effects",
    "A row for each pair of a deviation or check and a fault; strong evidence first, then by callbacks spared a year.",
    "Times as often: the fault on the worse doors against the better ones, all else alike. An association, not proof: "
    "where the interval holds 1, nothing is shown. Shares and callbacks spared overlap and must not be added up.",
    f"({EFFECTS})",
    (
        Column("deviation or check", "words", LONG),
        Column("fault", "fault_words"),
        Column("step", "step"),
        Column("evidence", "evidence"),
        *with_interval("times as often", "contrast_ratio", "contrast_low", "contrast_high"),
        Column("better doors have", "contrast_from", NUMBER),
        Column("worse doors have", "contrast_to", NUMBER),
        Column("unit", "unit"),
        *with_interval("callbacks spared a year", "avoidable_per_year", "avoidable_low", "avoidable_high", ONE_DECIMAL),
        Column("money spared a year", "avoidable_cost_per_year", MONEY),
        *with_interval(
            "share of the fault's callbacks", "attributable_share", "attributable_low", "attributable_high", SHARE
        ),
        Column("expected by the trade", "is_expected", FLAG),
        Column("doors", "doors", WHOLE),
        Column("first callbacks", "events", WHOLE),
        Column("share of doors recorded", "recorded_share", SHARE),
        Column("q-value", "q_value", NUMBER),
        Column("what to do", "do", LONG),
        Column("note", "note", LONG),
        *CODES,
    ),
    f"{SURE_FIRST}, avoidable_per_year DESC NULLS LAST, step_order, words, fault_words",
    "role = 'cause' AND evidence <> 'too_few'",
    "with too few records to judge, or other ways of measuring the same and signs of a fault",
    2,
)
FIRST = Tab(
    "First causes",
    "first_causes",
    "A row for each cause: how many of the callbacks it stands first in, and how much of all of them it accounts for.",
    "Shares add up to one with the row 'unexplained', which is what no cause accounts for. What of a share is not "
    "shown by the records is what the trade expects.",
    f"({FIRST_CAUSES})",
    (
        Column("cause", "words", LONG),
        Column("step", "step"),
        Column("faults", "fault_words", LONG),
        Column("stands first in", "first", WHOLE),
        Column("of callbacks", "callbacks", WHOLE),
        *with_interval("share of callbacks it stands first in", "first_share", "first_low", "first_high", SHARE),
        *with_interval("share of callbacks it accounts for", "share", "share_low", "share_high", SHARE),
        Column("of it shown by the records", "shown", SHARE),
        Column("known cost of that part", "cost", MONEY),
        Column("deviation, as in the tables", "deviation"),
    ),
    "deviation = 'unexplained', share DESC, deviation",
)
CURVES = Tab(
    "Risk curves",
    "dose_response",
    "A row for each value of a deviation: how many times as often the fault comes than at the better end.",
    "Only pairs with strong evidence. Values without doors are not shown; few doors make a wide interval.",
    f"""(
        SELECT point.*, {DEVIATION_WORDS} AS words, {fault_words("point.fault")} AS fault_words
        FROM ({CURVE_POINTS}) AS point
        JOIN catalogue_deviations AS deviation ON deviation.name = point.deviation
        LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = point.fault
    )""",
    (
        Column("deviation", "words", LONG),
        Column("fault", "fault_words"),
        Column("value", "value", NUMBER),
        Column("unit", "unit"),
        *with_interval("times as often", "hazard_ratio", "hr_low", "hr_high"),
        Column("doors near it", "doors", WHOLE),
        *CODES,
    ),
    "words, fault_words, value",
    others="of pairs without strong evidence",
    frozen=2,
)
LIMITS_TAB = Tab(
    "Limits",
    "limit_comparison",
    "A row for each limit: how the doors stand against it, in the order of the work.",
    "Undecided: the instrument cannot tell. Limits here are for finding causes; the product's own instructions, local "
    "codes and licensed practice go before any of them.",
    f"({LIMITS})",
    (
        Column("limit", "limit", LONG),
        Column("step", "step"),
        Column("in use or for comparison", "status"),
        Column("doors", "doors", WHOLE),
        Column("within", "within", WHOLE),
        Column("out", "out", WHOLE),
        Column("undecided", "undecided", WHOLE),
        Column("not recorded", "not_recorded", WHOLE),
        *with_interval("share out", "out_share", "out_low", "out_high", SHARE),
        Column("source", "source", LONG),
        Column("edition", "edition"),
        Column("deviation, as in the tables", "deviation"),
    ),
    "step_order, status = 'for comparison', \"limit\"",
)
ADVICE_TAB = Tab(
    "Limit advice",
    "limit_advice",
    "A row for each pair of a deviation and a fault: whether to keep, tighten or loosen the limit.",
    "Tighten or loosen is said on strong evidence only. The value is where the fault comes half as often again as on "
    "the better doors.",
    f"({ADVICE})",
    (
        Column("deviation", "words", LONG),
        Column("fault", "fault_words"),
        Column("advice", "advice"),
        Column("limit now", "limit_now", NUMBER),
        *with_interval("value with 1.5 times the risk", "limit_risk_1_5", "limit_low", "limit_high"),
        *with_interval("limit that costs least", "limit_cost", "limit_cost_low", "limit_cost_high"),
        Column("unit", "unit"),
        Column("evidence", "evidence"),
        Column("share of doors beyond", "share_beyond", SHARE),
        Column("why", "note", LONG),
        *CODES,
    ),
    f"{SURE_FIRST}, advice = 'keep', words, fault_words",
    "advice <> 'too_few'",
    "without evidence, or with too few records to advise",
    2,
)
BY_PART = Tab(
    "Causes by part",
    "effect_by",
    "A row for each cause found and each crew, material or season: whether it does the same there.",
    "Read the verdict first: 'alike' means that no difference is shown, whatever the numbers beside it.",
    f"({PARTS})",
    (
        Column("deviation or check", "words", LONG),
        Column("fault", "fault_words"),
        Column("asked of", "by"),
        Column("part", "level"),
        Column("verdict", "verdict"),
        *with_interval("times as often", "ratio", "ratio_low", "ratio_high"),
        Column("doors", "doors", WHOLE),
        Column("first callbacks", "events", WHOLE),
        Column("q-value", "q_differ", NUMBER),
        *CODES,
    ),
    'q_differ NULLS LAST, words, fault_words, "by", level',
    frozen=2,
)
