"""Sheet 3, weak steps: what to practise, step by step; for the trainer."""

from pipeline.report.charts.steps import MOST_CREWS, overview_chart, step_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import as_name, capital, count, counted, listed, natural
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import CrewOut, Firm, RecordedShare, WeakStep
from pipeline.report.rows.watch_rows import UsualSide
from pipeline.report.sheet import SHEETS, Block, Figure, Item, Listing, Sheet, Table, TitleBlock
from pipeline.report.sheets.crew_steps import steps_of_crews, steps_table
from pipeline.report.sheets.practice import practice_list
from pipeline.report.sheets.sides import crew_sheet_links, side_blocks
from pipeline.report.sheets.training_effects import training_blocks
from pipeline.report.words import practice as practice_words
from pipeline.report.words import sides as side_words
from pipeline.report.words import steps as words
from pipeline.report.words.common import DEFER, SITE_WORK, who_was_counted

NAME = SHEETS[2]
MOST_TABLE_ROWS = 800
NO_RANKING = (
    "A share says what was written down, not how good a crew is: a crew that measures more finds more. Use this "
    "sheet to choose what to practise, never to compare people."
)
HOW_OVERVIEW = (
    "Crews down by name, steps across in the order of the work. In each cell: the share of doors with a limit out or a "
    "check failed, with its 95 % interval, against the chain line, which is the firm. Ink, with its share in %: apart "
    "from the firm; heavy, where more often out. Grey: cannot be told. Apart is said from 10 doors on, and where what "
    "is to be expected of the next doors, the smaller lines in the figures below, clears the chain line as well."
)
DO_OVERVIEW = (
    "Start as the top of this sheet says; then where a heavy line stands farthest right of its chain line. The figures "
    "below say what to practise."
)
TOLD = {1: "more often out", -1: "less often out", 0: "cannot be told"}


def training_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the weak-steps sheet."""
    weak_steps, outs, crew_steps = results.weak_steps(), results.crew_outs(), results.crew_steps()
    steps, sides = words.by_step(weak_steps), results.usual_sides()
    lead = (words.summary(weak_steps), who_was_counted(firm, results.rates()))
    blocks = (
        *practice_list(weak_steps, outs),
        *([_overview(steps)] if words.n_crews(steps) > 1 else []),
        *crew_sheet_links(results),
        *steps_of_crews(crew_steps),
        *(_step(step, crews, outs) for step, crews in steps.items()),
        *side_blocks(sides, results),
        *training_blocks(results),
        *_not_recorded(results.recorded(), set(steps)),
        *([_table(weak_steps, results)] if weak_steps else []),
        *steps_table(crew_steps, results),
    )
    cautions = (NO_RANKING, DEFER, SITE_WORK)
    do = _first(weak_steps, outs, sides)
    return Sheet(NAME, title_block, words.headline(weak_steps), tuple(filter(None, lead)), blocks, cautions, do=do)


def _first(weak_steps: list[WeakStep], outs: list[CrewOut], sides: list[UsualSide]) -> str:
    """What to practise first with whom, and which way they err there; with everyone where no crew stands apart."""
    first, steps = words.begin_with(weak_steps), words.by_step(weak_steps)
    if first is None:
        step, _ = words.most_often_out(steps)
        return words.practise(step, steps[step], outs) if step else ""
    deviations = {out.deviation for out in outs if out.step == first.step}
    way = side_words.which_way(sides, first.crew, deviations)
    return f"{words.practise(first.step, steps[first.step], outs)} {way}".strip()


def _overview(steps: words.Steps) -> Figure:
    says = words.overview_says(steps)
    title = "Share of doors with something out, crew by step"
    drawing = draw(lambda is_narrow: overview_chart(steps, is_narrow), "overview", title, says)
    return Figure("overview", says, HOW_OVERVIEW, drawing, DO_OVERVIEW if words.weakest(steps) else "")


def _step(step: str, crews: list[WeakStep], outs: list[CrewOut]) -> Figure:
    says, key = words.step_says(step, crews, outs), f"step-{step}"
    more = f"Drawn are {MOST_CREWS} of {count(len(crews))} crews; the table has all." if len(crews) > MOST_CREWS else ""
    title = f"Share of doors with something out in {step}"
    drawing = draw(lambda is_narrow: step_chart(crews, is_narrow), key, title, says)
    return Figure(key, says, f"{words.better(crews)} {more}".strip(), drawing, words.practise(step, crews, outs))


def _not_recorded(recorded: list[RecordedShare], steps: set[str]) -> list[Block]:
    missing = [step for step in dict.fromkeys(share.step for share in recorded) if step not in steps]
    if not missing:
        return []
    items = tuple(Item(_to_record(recorded, step), f"{capital(step)}:") for step in missing)
    how = "What is not recorded is never counted as good. Recording any of these would open the step."
    return [Listing("missing", f"Nothing is recorded in {listed(missing, 8)}", items, how)]


def _to_record(recorded: list[RecordedShare], step: str) -> str:
    causes = [share for share in recorded if share.step == step and share.role == "cause"]
    return f"{listed([as_name(share.words) for share in causes], 6)}."


def _table(weak_steps: list[WeakStep], results: Results) -> Table:
    ordered = sorted(weak_steps, key=lambda weak: (-(weak.priority or 0.0), weak.step_order, natural(weak.crew)))
    return Table(
        "crews",
        f"The table behind: {counted(len(weak_steps), 'crew in a step', 'crews in steps')}",
        (
            "crew",
            "step",
            "doors",
            "doors out",
            "share out (95 %)",
            "expected of the next (95 %)",
            "firm (95 %)",
            "against the firm",
            "practice would spare a year (95 %)",
        ),
        tuple(_cells(weak) for weak in ordered[:MOST_TABLE_ROWS]),
        "",
        frozenset({2, 3}),
        download("weak_steps", results.table("weak_steps")),
    )


def _cells(weak: WeakStep) -> tuple[str, ...]:
    return (
        as_name(weak.crew),
        weak.step,
        count(weak.doors),
        count(weak.doors_out),
        weak.share.words(100, " %") if weak.share else "too few",
        words.expected(weak) or "too few",
        words.firms_share(weak),
        TOLD[weak.side],
        practice_words.spared(weak),
    )
