"""Judges numbers whose column has a unit of its own (width_mm, hours) or none at all (cost).

A unit in the cell goes before that of the heading, and that before the column's own.
"""

from dataclasses import replace
from decimal import Decimal

from pipeline.ingest.judging.own_units import factor, fitting, known_units, own_unit
from pipeline.ingest.judging.verdicts import Verdict
from pipeline.ingest.records import Column
from pipeline.ingest.texts.clock_hours import RULE, hours_of
from pipeline.ingest.texts.glazing import GLASS, thickness_in
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.marks import COMMA, DOT, Mark, MarkEvidence, doubtful_mark
from pipeline.ingest.texts.money import MONEY, PLUS, split_currency, two_currencies, without_dash
from pipeline.ingest.texts.numbers import Number, bounds_problem, digits_of, read_number
from pipeline.ingest.texts.units import in_inches
from pipeline.ingest.texts.words import any_of


class SizeJudge:
    """Judges the texts of one number column."""

    def __init__(self, column: Column, manners: Manners) -> None:
        self._column = column
        self._own = own_unit(column)
        self._mark = manners.mark(column.name)
        self._hours = manners.hours
        self._currencies = manners.currencies.get(column.name, frozenset())
        self._heading = manners.units.get(column.name, self._own)
        self._is_money, self._is_hours = column.name in MONEY, self._own == self._heading == "h"

    def judge(self, text: str) -> Verdict:
        """The number in the column's own unit. What its column leaves in doubt may be plausible in one reading only."""
        if self._is_hours and (hours := hours_of(text)) is not None:
            problem = bounds_problem(hours, self._column.low, self._column.high)
            return Verdict(None, problem) if problem else Verdict(hours, None, RULE)
        if self._column.name == GLASS:
            text = thickness_in(text)
        if self._is_money:
            text = without_dash(text)
            if PLUS in text[1:]:
                return self._sum(text)
        if self._currencies:
            sign, amount = split_currency(text)
            if sign:
                return self._amount(sign, amount)
        return self._number(text)

    def _sum(self, text: str) -> Verdict:
        """Amounts with a plus between them: 120 + 45.50."""
        verdicts = [self.judge(part.strip()) for part in text.split(PLUS)]
        wrong = next((one.problem for one in verdicts if one.value is None), None)
        if wrong:
            return Verdict(None, wrong)
        total = float(sum(Decimal(repr(one.value)) for one in verdicts))
        rules = dict.fromkeys(one.rule for one in verdicts if one.rule)
        problem = bounds_problem(total, self._column.low, self._column.high)
        return Verdict(None, problem) if problem else Verdict(total, None, ", ".join(["the sum of it", *rules]))

    def _amount(self, sign: str, text: str) -> Verdict:
        """An amount beside a sign of currency, which is the firm's where the column writes no other."""
        if len(self._currencies) > 1:
            return Verdict(None, two_currencies(self._currencies))
        verdict = self._number(text)
        rule = ", ".join(filter(None, (verdict.rule, f"{sign} taken for the firm's currency")))
        return replace(verdict, rule=rule) if verdict.value is not None else verdict

    def _number(self, text: str) -> Verdict:
        verdict = self._judged(text, self._mark)
        if verdict.value is not None or not doubtful_mark(digits_of(text)):
            return verdict
        readings = [self._judged(text, Mark(decimal)) for decimal in (DOT, COMMA)]
        plausible = [reading for reading in readings if reading.value is not None]
        if self._mark.decimal is not None or len(plausible) != 1:
            return verdict
        rules = filter(None, (plausible[0].rule, "the only plausible reading"))
        return replace(plausible[0], rule=", ".join(rules))

    def _judged(self, text: str, mark: Mark) -> Verdict:
        number, problem = read_number(text, mark)
        if self._is_hours and number is not None and number.unit is None:
            problem = self._hours.problem(number.value)
        if number is None or problem:
            return Verdict(None, problem)
        word = number.unit or number.side
        said = number.unit or self._heading
        if word and (number.side or factor(self._column, word) is None):
            return Verdict(None, self._odd_word(number, word))
        if number.is_fraction and not number.unit and said and known_units().is_metric(said):
            return Verdict(None, in_inches(said))
        if said == "" and self._own:
            return self._by_size(number)
        return self._converted(number, said)

    def _converted(self, number: Number, said: str | None) -> Verdict:
        times = 1.0 if said == self._own or said is None else factor(self._column, said)
        assert times is not None
        # in decimals, so that 0.57 m is 570 mm
        value = float(Decimal(repr(number.value)) * Decimal(repr(times))) + 0
        problem = bounds_problem(value, self._column.low, self._column.high, "", self._hint(number))
        if problem:
            return Verdict(None, problem)
        rules = [number.rule, f"{said} to {self._own}" if times != 1.0 else "unit in the cell" if number.unit else None]
        return Verdict(value, None, ", ".join(filter(None, rules)) or None)

    def _by_size(self, number: Number) -> Verdict:
        """A number without any unit: read where it is plausible in one unit only."""
        found = fitting(self._column, number.value)
        if len(found) == 1:
            ((unit, value),) = found.items()
            return Verdict(value, None, f"{unit}, the only plausible unit")
        name = self._column.name.removesuffix("_mm")
        where = f"name the column {self._column.name}, or {name} with its unit"
        if not found:
            return Verdict(None, f"this is not plausible in any unit of length; {where}")
        shown = any_of([f"{value:,.10g} mm ({unit})" for unit, value in found.items()])
        return Verdict(None, f"its unit is not said and it can be {shown}; {where}")

    def _hint(self, number: Number) -> str:
        found = {} if number.unit else fitting(self._column, number.value)
        if not found:
            return "correct it"
        shown = any_of([f"{value:,.10g} if it is in {unit}" for unit, value in found.items()])
        return f"write {shown}"

    def _odd_word(self, number: Number, word: str) -> str:
        unit = f" in {self._own}" if self._own else ""
        return (
            f"'{word}' is not a unit that {self._column.name} takes; write the number alone ({number.value:.10g}){unit}"
        )


def sizes_of(column: Column, texts: list[str], unit: str | None, decimals: str | None) -> list[float | None]:
    """The numbers of one column in its own unit, by its own evidence; None for what is not read.

    unit      the one said of the column as a whole; None where its own holds
    decimals  what the firm says of its decimals, a point or a comma
    """
    evidence = MarkEvidence()
    evidence.add(filter(None, map(digits_of, texts)))
    units = {} if unit is None else {column.name: unit}
    judge = SizeJudge(column, Manners({column.name: evidence.decide(decimals)}, {}, units))
    return [judge.judge(text).value for text in texts]
