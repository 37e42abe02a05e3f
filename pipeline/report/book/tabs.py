"""The sheets of the workbook in their order: what people use of the tables, and nothing with a row for each door."""

from pipeline.report.book.causes_tabs import ADVICE_TAB, BY_PART, CAUSES, CURVES, FIRST, LIMITS_TAB
from pipeline.report.book.crews_tabs import CREWS, MONTHS, OUTLOOK_TAB, OUTS, SIGNALS_TAB, TRAINING, WEAK
from pipeline.report.book.records_tabs import ACCOUNT, CHECKS_TAB, CREDIBILITY, LINKS, RECORDED_TAB

TABS = (
    *(CAUSES, FIRST, CURVES, LIMITS_TAB, ADVICE_TAB, BY_PART),
    *(CREWS, WEAK, OUTS, TRAINING, MONTHS, OUTLOOK_TAB, SIGNALS_TAB),
    *(RECORDED_TAB, ACCOUNT, CHECKS_TAB, LINKS, CREDIBILITY),
)
