"""Words about early warnings: how many, how often they are false, how to read a chart."""

from datetime import date, timedelta

from pipeline.report.numbers import as_name, capital, count, counted, day, number
from pipeline.report.rows.signal_rows import Signal, Watched
from pipeline.report.words.common import few_in_words

RECENT = timedelta(days=365)
HOW = {
    "individuals": "Each point is what the doors of a month show, in standard errors above the months before.",
    "ewma": "Each point is a mean over the last months, the newest weighing most; it begins anew after an alarm.",
    "cusum": "The points climb while more callbacks come than the same doors brought before, and fall to 0 otherwise.",
    "rare": "Each point is three callbacks: the higher, the sooner they followed each other for the doors at risk.",
}
READ = (
    "In each chart every point stands on its own line over what was usual before; the red chain line is the limit, a "
    "red point beyond it the alarm; the hatching reaches back to where it began. A chart is shown because it stands "
    "out, so the true change is likely smaller than its numbers."
)


def recent(signals: list[Signal], as_of: date | None) -> list[Signal]:
    """The latest alarm of each chart, of the last twelve months, newest first."""
    return [one for one in signals if one.is_last and (as_of is None or one.at > as_of - RECENT)]


def signals_say(found: list[Signal], watched: Watched) -> str:
    """Heading of the section."""
    if not watched.charts:
        return "No early warning yet: no chart has a long enough past"
    if not found:
        return "No chart is out of control in the last twelve months"
    many = "early warning" if len(found) == 1 else "early warnings"
    return f"{capital(few_in_words(len(found)))} {many} in the last twelve months"


def what_is_watched(watched: Watched, drawn: int, older: int) -> list[str]:
    """What stands behind the heading: charts, false alarms, how to read those drawn, what is too short or older."""
    short = (
        f"{counted(watched.too_short, 'chart has', 'charts have')} too short a past: at least six points of five "
        "doors, or six months after eight callbacks, are needed."
    )
    if not watched.charts:
        return (
            [short] if watched.too_short else ["Early warnings need doors of several months with readings, or a log."]
        )
    each = (
        f"Watched are {counted(watched.charts, 'chart')}: every crew's deviations and steps, its callbacks, and the "
        "firm's faults, each against its own past. Were nothing to change, all of them together would raise "
        f"{number(watched.false_alarms_per_year, 1)} false alarms a year at most."
    )
    before = f"{counted(older, 'alarm is', 'alarms are')} older or repeated; the table has them." if older else ""
    return [each, *([READ] if drawn else []), *([short] if watched.too_short else []), *([before] if before else [])]


def says(signal: Signal) -> str:
    """Caption: since when, whose doors, worse in what."""
    return as_name(signal.what)


def how(signal: Signal) -> str:
    """The numbers, and how to read the chart."""
    return f"{capital(as_name(signal.how_much))}; alarm on {day(signal.at)}. {HOW[signal.chart]}"


def act(signal: Signal) -> str:
    """What to do."""
    return f"{capital(as_name(signal.act))}."


def subject(signal: Signal) -> str:
    """What the chart is about, for the table."""
    return as_name(signal.subject.replace("_", " "))


def whose(signal: Signal) -> str:
    """The crew, or the firm."""
    return "the firm" if signal.crew == "all" else as_name(signal.crew)


def table_says(signals: list[Signal]) -> str:
    """Heading of the table."""
    return f"The table behind: {counted(len(signals), 'alarm')}"


def points_between(signal: Signal) -> str:
    """How seldom this chart alone alarms falsely."""
    return f"once in {count(round(signal.run_length))} points"
