"""The one-page letter: three answers, what is not known, what to do next."""

from dataclasses import dataclass

from pipeline.report.numbers import as_name, capital, count, counted, day, listed, percent
from pipeline.report.rows.intake_rows import FileAccount
from pipeline.report.rows.table_rows import CrewOut, CrewRate, Effect, Firm, RecordedShare, Tally, WeakStep
from pipeline.report.words import causes, intake, rates, steps
from pipeline.report.words.common import act_of, few_in_words, is_watched_enough, whole_firm

# From this share of callbacks without a door on, what the records say of rates is worth less than mending them.
MUCH_LOST = 0.2


@dataclass(frozen=True)
class Act:
    """One thing to do next: in a few words, why, and the sheet that shows it."""

    lead: str
    why: str
    sheet: str


def what_the_records_hold(firm: Firm, all_rates: list[CrewRate]) -> str:
    """Doors, crews, from when to when, door-years, callbacks."""
    if not firm.doors:
        return "The records hold no door yet."
    whole = whole_firm(all_rates)
    is_long = is_watched_enough(all_rates)
    years = counted(round(whole.door_years), "door-year") if whole and is_long else "less than one door-year"
    return (
        f"Your records hold {counted(firm.doors, 'door')} of {counted(firm.crews, 'crew')}, fitted from "
        f"{day(firm.first_fitted_on)} to {day(firm.last_fitted_on)} and watched for {years}, and "
        f"{counted(firm.callbacks, 'callback')} reported to {day(firm.as_of)}."
    )


def headline(firm: Firm, effects: list[Effect], all_rates: list[CrewRate], linked: list[Tally]) -> str:
    """The one thing to know: the first shown cause, else callbacks without a door, else the rate, else too early."""
    strong = causes.claimed(effects, "strong")
    if strong:
        return f"Begin here: {act_of(strong[0])}. {_worth(strong[0])}."
    if intake.lost_share(linked) >= MUCH_LOST:
        return f"Begin with the paper: {intake.linked_sentence(linked)}"
    if firm.doors and not firm.has_callback_log:
        return f"Begin with the callbacks: {counted(firm.doors, 'door')} on record, and no callback log beside them."
    rate = rates.firm_rate(all_rates)
    if rate and firm.callbacks:
        return f"{rate}; what causes them the records cannot say for certain yet."
    if firm.doors:
        held = f"{counted(firm.doors, 'door')}, {counted(firm.callbacks, 'callback')}"
        return f"It is too early to say anything of causes: {held}."
    return "There is no door on record yet."


def _worth(effect: Effect) -> str:
    if causes.is_worth_known(effect) and effect.avoidable:
        return f"That could spare about {effect.avoidable.words()} callbacks a year"
    return f"{capital(as_name(effect.fault_words))} comes back {causes.times(effect)} as often without it"


def not_known(
    effects: list[Effect], account: list[FileAccount], linked: list[Tally], recorded: list[RecordedShare]
) -> list[str]:
    """What the records cannot say, a sentence each."""
    parts = [_open_pairs(effects)]
    possible = [share for share in recorded if share.role == "cause"]
    never = [as_name(share.words) for share in possible if not share.doors_recorded]
    if never:
        which = f"{count(len(never))} of {counted(len(possible), 'possible cause')}"
        parts.append(f"Never recorded, so never judged, {which}: {listed(never, 5)}.")
    if any(tally.name == "none" for tally in linked):
        parts.append(intake.linked_sentence(linked))
    read, _, aside, _ = intake.totals(account)
    if aside:
        parts.append(f"What the {counted(aside, 'row')} set aside ({percent(aside / read)} of those read) would add.")
    said = [part for part in parts if part]
    return said or ["Nothing that was asked is left open; what was never recorded stays unknown."]


def _open_pairs(effects: list[Effect]) -> str:
    tried = causes.causes(effects)
    n_open = sum(not effect.is_answered for effect in tried)
    if not tried:
        return "Which deviation causes which fault: no callback can be set against a reading or a check."
    if not n_open:
        return ""
    pairs, reason = counted(len(tried), "pair"), causes.why_not(effects)[0][0]
    return (
        f"For {count(n_open)} of {pairs} of a deviation and a fault there are too few records, mostly because {reason}."
    )


def next_acts(
    firm: Firm, effects: list[Effect], weak: list[WeakStep], outs: list[CrewOut], recorded: list[RecordedShare]
) -> list[Act]:
    """What to do, first things first: the shown causes, the step to practise, what to record."""
    acts = [
        _cause_act(effect) for effect in causes.one_a_deviation(causes.claimed(effects, "strong"))[: causes.FIRST_ACTS]
    ]
    if first := steps.begin_with(weak):
        what = steps.practise(first.step, steps.by_step(weak)[first.step], outs)
        acts.append(Act(f"Practise the {first.step} step.", what, "training.html"))
    thin = [share for share in recorded if share.role == "cause" and 0 < share.share < intake.LEAST_SHARE]
    if thin:
        acts.append(Act("Record more.", _record_more(thin), "records.html"))
    if acts:
        return acts
    if not firm.has_callback_log:
        return [Act("Bring the callbacks.", rates.WHAT_TO_ADD, "owner.html")]
    everything = "Take the same few readings on every door, and log every callback with its door number and its fault."
    return [Act("Record.", everything, "records.html")]


def _record_more(thin: list[RecordedShare]) -> str:
    kinds = {"Take the readings": False, "Do the checks": True}
    named = {
        lead: listed([f"“{as_name(share.words)}”" for share in thin if share.is_check == is_check], 3)
        for lead, is_check in kinds.items()
    }
    said = " ".join(f"{lead} for {names}." for lead, names in named.items() if names)
    return f"{said} On every door, good ones too."


def _cause_act(effect: Effect) -> Act:
    why = f"{as_name(effect.fault_words)} comes back {causes.times(effect)} as often with {causes.quoted(effect)}"
    return Act(f"{capital(act_of(effect))}.", f"{capital(why)}; {causes.spared(effect)}.", "quality.html")


def step_summary(step_effects: list[Effect]) -> str:
    """What is said of a step without a shown cause."""
    if not step_effects:
        return "nothing to set a callback against"
    answered = sum(effect.is_answered for effect in step_effects)
    pairs = counted(len(step_effects), "pair")
    return f"nothing shown, {count(answered)} of {pairs} answered" if answered else f"too few to tell, {pairs}"


def steps_says(effects: list[Effect]) -> str:
    """Caption of the job, step by step."""
    strong = sorted(causes.claimed(effects, "strong"), key=lambda effect: effect.step_order)
    where = list(dict.fromkeys(effect.step for effect in strong))
    if not where:
        return "No step of the work is shown to bring callbacks yet"
    noun = "step" if len(where) == 1 else "steps"
    return f"Callbacks are seen to begin in {few_in_words(len(where))} {noun} of the work: {listed(where, 8)}"
