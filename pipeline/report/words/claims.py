"""How often strong claims hold, by kind of simulated firm: sentences for the methods sheet."""

from pipeline.report.claims import Claims, Study
from pipeline.report.numbers import count, counted, day, number, percent

LEAST_CLAIMS = 30  # a kind with fewer is no ground for a comparison: a judgement, no source
KINDS = {
    "plain": "nothing out of the ordinary",
    "null": "nothing matters at all",
    "confounded crews": "careful crews on the hard doors",
    "sloppy crews": "crews careless in what is not recorded too",
    "differing effects": "effects that differ between crews",
    "noisy instruments": "instruments four times as noisy",
    "35 % missing": "35 % of the sections not filled in",
    "missing because bad": "left out because it was bad",
    "read after complaints": "measured again after complaints",
    "dishonest crew": "three crews that copy or invent",
    "late paper": "callbacks written down late",
    "training": "trainings that worked",
    "messy life": "seasons, removals, unlike doors and sites",
    "6 crews": "six crews only",
    "60 crews": "sixty crews",
}


def says(study: Study) -> str:
    """The answer with its number and n."""
    whole = study.whole
    return (
        f"When evidence is called strong, its 95 % interval holds the truth in {whole.held_share.words(100, ' %')} of "
        f"{counted(whole.claims, 'claim')}, on simulated firms"
    )


def how(study: Study) -> str:
    """How it was measured, and why it is less than 95 %."""
    whole = study.whole
    firms, found = counted(whole.firms, "invented firm"), number(whole.found_over_true or 1.0, 2)
    return (
        f"Measured on {day(study.measured_on)} on {firms} of {count(study.doors)} doors whose truth is known (seed "
        f"{study.seed}), not on this firm. What is picked for being large is on average a little too large: real "
        f"causes among these claims came out {found} times as large as they are (on the log "
        f"scale, middle of all), and {counted(whole.false, 'claim')} ({percent(_false(whole))}) stood on nothing, "
        f"whose interval never holds."
    )


def _false(claims: Claims) -> float:
    return claims.false / claims.claims


def do(study: Study) -> str:
    """What follows for a reader of the causes sheet."""
    many = [each for each in study.scenarios if each.claims >= LEAST_CLAIMS] or [study.whole]
    worst = min(many, key=lambda each: each.share)
    return (
        f"Read a strong ratio towards the near end of its interval. It held least where the firm was so: "
        f"{kind(worst)} ({percent(worst.share)} of {count(worst.claims)}); see on sheet 5 whether yours is."
    )


def kind(claims: Claims) -> str:
    """The kind of firm in plain words."""
    return KINDS.get(claims.name, claims.name)
