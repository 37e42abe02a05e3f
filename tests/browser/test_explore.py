"""The linked sheet in a real browser: every control narrows every drawing, and no sentence goes beyond its interval."""

import random
import re
from pathlib import Path

import polars as pl
import pytest

from pipeline.report.reading import Results
from pipeline.report.sheet import TitleBlock, render
from pipeline.report.sheets.explore import explore_sheet
from pipeline.report.words.common import NUMBERS_IN_WORDS
from pipeline.stats.intervals import rate_interval, share_interval
from tests.browser.conftest import Opened
from tests.report.conftest import hostile_tables
from tests.report.invented import invented_tables, write_results
from tests.report.invented_explore import FAULTS, PERIODS, explored

pytestmark = pytest.mark.browser
VIEWS = ("periods", "crews", "products", "faults", "steps")


def drawn(page, after: int = 0) -> int:
    """Waits until the drawings have followed once more, and says how often they have."""
    page.wait_for_function("(n) => Number(document.body.dataset.drawn || 0) > n", arg=after)
    return int(page.evaluate("document.body.dataset.drawn"))


@pytest.fixture(scope="module")
def written(tmp_path_factory) -> dict[str, Path]:
    """Folders with the linked sheet alone: of the invented firm, of hostile names, of a firm that watched little."""
    firms = {
        "firm": invented_tables(),
        "hostile": hostile_tables(),
        "little": invented_tables() | explored(("A", "B", "C"), doors=1),
        "quiet": invented_tables() | never_called(),
        "many": invented_tables() | explored(tuple(f"Crew {n}" for n in range(1, 31))),
        "waiting": invented_tables() | with_paper_to_come(),
    }
    made = {}
    for name, tables in firms.items():
        made[name] = tmp_path_factory.mktemp(name)
        with Results(write_results(made[name] / "results.duckdb", tables)) as results:
            page = render(explore_sheet(results, results.firm(), TitleBlock(name, "30 June 2026", "")))
        (made[name] / "explore.html").write_text(page, encoding="utf-8")
    return made


def never_called() -> dict[str, pl.DataFrame]:
    """The sums of doors that were watched and never called."""
    tables = explored()
    time = tables["explore_time"].with_columns(callbacks=pl.lit(0))
    return tables | {"explore_time": time, "explore_faults": tables["explore_faults"].clear()}


def with_paper_to_come() -> dict[str, pl.DataFrame]:
    """The sums of a firm whose last quarter, which still waits for paper, has hardly a callback yet."""
    tables = explored()
    is_last = pl.col("period") == PERIODS[-1]
    time = tables["explore_time"].with_columns(
        callbacks=pl.when(is_last).then((pl.col("callbacks") > 3).cast(pl.Int64)).otherwise(3)
    )
    return tables | {"explore_time": time, "explore_faults": tables["explore_faults"].filter(~is_last)}


@pytest.fixture
def sheet(browser, written):
    """Opens the linked sheet of a firm at a width, and waits until it is drawn."""
    contexts = []

    def opened(firm: str = "firm", width: int = 1280) -> Opened:
        contexts.append(browser.new_context(viewport={"width": width, "height": 900}, offline=True))
        found = Opened(contexts[-1], written[firm] / "explore.html")
        drawn(found.page)
        return found

    yield opened
    for context in contexts:
        context.close()


def choose(page, **choice: str) -> None:
    for name, words in choice.items():
        before = int(page.evaluate("document.body.dataset.drawn"))
        page.select_option(f"#{name}", label=words)
        drawn(page, before)


def headline(page) -> str:
    return page.locator("h1").inner_text().replace("\N{NO-BREAK SPACE}", " ")


def table(page, key: str) -> list[list[str]]:
    """The rows of the numbers of a drawing, open or not."""
    return page.locator(f"#{key}-table tbody tr").evaluate_all(
        "(rows) => rows.map((row) => [...row.children].map((cell) => cell.textContent.replace(/\\u00a0/g, ' ')))"
    )


def numbers(words: str) -> list[float]:
    """`37 % (35 to 40)` as its three numbers."""
    return [float(part.replace(",", "").replace("\N{MINUS SIGN}", "-")) for part in re.findall(r"[−\d.,]*\d", words)]


def sums(crew: str = "", product: str = "", fault: str = "", since: int = 0, until: int = 12) -> tuple[int, float]:
    """Callbacks and door-years of a choice, straight from the tables."""
    frames = explored()
    chosen = pl.col("period").is_in(PERIODS[since : until + 1])
    for name, value in (("crew", crew), ("product", product)):
        if value:
            chosen &= pl.col(name) == value
    years = frames["explore_time"].filter(chosen)["door_years"].sum()
    if not fault:
        return frames["explore_time"].filter(chosen)["callbacks"].sum(), years
    called = frames["explore_faults"].filter(chosen, pl.col("fault") == fault)
    return called["callbacks"].sum(), years


def test_everything_together_is_what_the_tables_say(sheet):
    page = sheet().page
    callbacks, years = sums()
    assert f"from {callbacks:,} callbacks in {years:,.0f} door-years" in headline(page)
    low, high = (
        float(end) for end in (rate_interval(callbacks, years / 100).low, rate_interval(callbacks, years / 100).high)
    )
    _, told_low, told_high = numbers(headline(page))[:3]
    # 200 callbacks and more: Byar's formula against the exact ends (Garwood 1936), to the digits that are shown
    assert callbacks > 200
    assert (told_low, told_high) == (pytest.approx(low, abs=0.5), pytest.approx(high, abs=0.5))


@pytest.mark.parametrize(
    "choice",
    [
        {"crew": "K4"},
        {"fault": "Draught"},
        {"since": "Q3 2024"},
        {"crew": "K7", "product": "Fold A", "fault": "Water ingress", "since": "Q1 2024", "until": "Q4 2025"},
    ],
)
def test_each_control_narrows_the_answer_and_every_table_as_the_tables_say(sheet, choice):
    page = sheet().page
    choose(page, **choice)
    own = {name: choice[name] for name in ("crew", "product") if name in choice}
    own |= {"fault": choice["fault"].lower().replace(" ", "_")} if "fault" in choice else {}
    own |= {name: at_period(choice[name]) for name in ("since", "until") if name in choice}
    callbacks, years = sums(**own)
    assert re.search(rf"\b{callbacks:,} callbacks? in {years:,.0f} door-years", headline(page))
    crews = {row[0]: row for row in table(page, "crews")}
    for crew in ("K1", "K10"):
        callbacks, years = sums(**{**own, "crew": crew})
        assert crews[crew][1:3] == [str(callbacks), f"{years:.1f}" if years < 100 else f"{years:.0f}"]
    for key, dimension in (("products", "product"), ("faults", "fault")):
        first = table(page, key)[0]
        name = first[0].lower().replace(" ", "_") if dimension == "fault" else first[0]
        assert first[1] == f"{sums(**{**own, dimension: name})[0]:,}"


def at_period(words: str) -> int:
    quarter, year = words.split()
    return PERIODS.index(f"{year}-{quarter}")


def test_small_counts_have_the_exact_interval(sheet):
    page = sheet().page
    choose(page, fault="Draught", crew="K2")
    told = [row for row in table(page, "periods") + table(page, "products") if "(" in row[3]]
    assert told
    for row in told:
        value, low, high = numbers(row[3])
        exact = rate_interval(int(row[1]), float(row[2].replace(",", "")) / 100)
        step = 10 ** -(len(row[3].split()[0].partition(".")[2]) or 0)
        assert abs(value - exact.estimate) <= step
        assert abs(low - exact.low) <= step
        assert abs(high - exact.high) <= step


def test_shares_of_steps_have_wilsons_interval(sheet):
    page = sheet().page
    choose(page, crew="K2", since="Q1 2024")
    for row in table(page, "steps"):
        exact = share_interval(int(row[1]), int(row[2]))
        found = numbers(row[3])
        expected = [100 * float(part) for part in (exact.estimate, exact.low, exact.high)]
        assert found == pytest.approx(expected, abs=1)


def test_doors_that_never_called_have_a_rate_of_none_with_its_upper_end(sheet):
    opened = sheet("quiet")
    _, years = sums()
    upper = float(rate_interval(0, years / 100).high)
    assert headline(opened.page).startswith(
        f"The whole firm: 0.00 (0.00 to {upper:.2f}) callbacks per 100 door-years, "
    )
    choose(opened.page, crew="K3")
    assert headline(opened.page).startswith("K3: 0")
    assert {row[4] for row in table(opened.page, "crews")} == {"not told apart"}
    assert "No callback was reported" in opened.page.locator("#crews").inner_text()
    assert opened.complaints == []


def test_a_choice_turns_what_it_leaves_out_grey(sheet):
    page = sheet().page
    choose(page, crew="K4", since="Q1 2025")
    inks = "(texts) => Object.fromEntries(texts.map((text) => [text.textContent, getComputedStyle(text).fill]))"
    names = page.locator("#crews-drawing svg text").evaluate_all(inks)
    assert names["K4"] == "rgb(29, 43, 58)"
    assert names["K5"] == "rgb(106, 116, 128)"


def test_show_everything_again_and_a_saved_address_bring_the_choice_back(sheet):
    page = sheet().page
    whole = headline(page)
    choose(page, crew="K4", fault="Draught", until="Q2 2025")
    chosen, address = headline(page), page.url
    assert chosen.startswith("K4, draught, before Q3 2023 to Q2 2025: ")
    again = page.context.new_page()
    again.goto(address)
    drawn(again)
    assert headline(again) == chosen
    assert again.locator("#crew option:checked").inner_text() == "K4"
    before = int(page.evaluate("document.body.dataset.drawn"))
    page.get_by_role("button", name="Show everything again").click()
    drawn(page, before)
    assert headline(page) == whole
    assert "#" not in page.url


def test_an_address_cut_short_or_turned_round_opens_the_sheet_all_the_same(sheet):
    opened = sheet()
    again = opened.page.context.new_page()
    again.goto(f"{opened.page.url.partition('#')[0]}#crew=K4&fault=Draugh%2")
    drawn(again)
    assert headline(again).startswith("K4: ")
    turned = opened.page.context.new_page()
    turned.goto(f"{opened.page.url.partition('#')[0]}#since=Q1%202025&until=Q1%202024")
    drawn(turned)
    assert headline(turned).startswith("Q1 2025: ")
    assert opened.complaints == []


def test_a_quarter_that_waits_for_paper_is_never_said_to_lie_below(sheet):
    """Few of its callbacks have come in yet: of all others it would lie far below."""
    opened = sheet("waiting")
    page = opened.page
    said = page.locator("#periods").inner_text()
    assert table(page, "periods")[-1][4] == "still waits for paper"
    assert "below" not in said
    assert said.endswith("one still waits for paper.")
    choose(page, since="Q2 2026")
    assert "paper is still to come before it can be held against the firm's" in headline(page)
    stands = {row[4] for row in table(page, "faults")}
    assert "still waits for paper" in stands
    assert "below" not in stands


def test_a_time_that_ends_before_it_begins_follows_what_was_chosen_last(sheet):
    page = sheet().page
    choose(page, until="Q1 2024")
    choose(page, since="Q1 2025")
    assert page.locator("#until option:checked").inner_text() == "Q1 2025"
    assert headline(page).startswith("Q1 2025: ")


def test_the_sheet_is_worked_by_keyboard_alone(sheet):
    page = sheet().page
    while page.evaluate("document.activeElement.id") != "crew":
        page.keyboard.press("Tab")
    before = int(page.evaluate("document.body.dataset.drawn"))
    page.keyboard.press("ArrowDown")
    drawn(page, before)
    assert headline(page).startswith("K1: ")
    for expected in ("product", "fault", "since", "until", "again"):
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == expected
    before = int(page.evaluate("document.body.dataset.drawn"))
    page.keyboard.press("Enter")
    drawn(page, before)
    assert headline(page).startswith("The whole firm: ")


def claims(words: str) -> dict[str, int]:
    """What a sentence claims: how many stand wholly above and below, and how many are too few."""
    in_words = {word: number for number, word in enumerate(NUMBERS_IN_WORDS)}
    sentence = words.lower()
    found = {}
    for way in ("above", "below"):
        match = re.search(rf"(\w+)(?: of \d+ \w+)? (?:lies |lie )?wholly {way}", sentence)
        found[way] = in_words.get(match[1], int(match[1]) if match[1].isdigit() else -1) if match else 0
    few = re.search(r"(\w+) ha(?:s|ve) too few", sentence)
    found["few"] = (in_words.get(few[1]) if few[1] in in_words else int(few[1])) if few else 0
    return found


def assert_says_what_is_near(sentence: str, rows: list[list[str]]) -> None:
    """Every step whose interval reaches that of the one most often out is named as not told apart, and no other."""
    ends = {row[0]: numbers(row[3])[1:] for row in rows if "(" in row[3]}
    first = re.search(r"out is the (\w+) step", sentence)[1]
    named = re.search(r"not told apart from ([\w, ]+?)(?:\.|$)", sentence)
    beside = set(re.split(r", | and ", named[1])) if named else set()
    clearly, hardly = ({name for name, (_, high) in ends.items() if high > ends[first][0] + by} for by in (1, -1))
    assert clearly - {first} <= beside <= hardly


def test_no_sentence_claims_what_its_intervals_do_not_show(sheet):
    rng = random.Random(5)
    seen = set()
    for page in (sheet().page, sheet("little").page):
        for _ in range(6):
            picked = {
                name: rng.choice(page.locator(f"#{name} option").all_inner_texts())
                for name in rng.sample(["crew", "product", "fault", "since", "until"], 2)
            }
            choose(page, **picked)
            for key in VIEWS:
                sentence = page.locator(f"#{key}").inner_text()
                rows = table(page, key)
                stands = [row[4] for row in rows]
                few = sum(row[3].startswith("too few") for row in rows)
                said = claims(sentence)
                if "wholly" in sentence:
                    assert said["above"] == stands.count("above"), (sentence, rows)
                    assert said["below"] == stands.count("below"), (sentence, rows)
                    assert said["few"] == few
                elif "is told apart" in sentence:
                    assert not {"above", "below"} & set(stands), (sentence, rows)
                    assert said["few"] == few
                elif "oo few callbacks" in sentence:
                    assert few == len(rows)
                if key == "steps" and "Most often out" in sentence.replace("most", "Most"):
                    assert_says_what_is_near(sentence, rows)
                seen.add(re.sub(r".*(wholly|told apart|oo few callbacks).*", r"\1", sentence))
    assert {"wholly", "told apart", "oo few callbacks"} <= seen


@pytest.mark.parametrize("width", [360, 640, 1280])
@pytest.mark.parametrize("firm", ["firm", "hostile"])
def test_what_is_drawn_stays_on_the_screen(sheet, firm, width):
    page = sheet(firm, width).page
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    outside = page.locator(".drawing svg text").evaluate_all(
        "(texts) => texts.filter((text) => { const box = text.getBoundingClientRect();"
        " return box.width && (box.left < 0 || box.right > window.innerWidth); }).map((text) => text.textContent)"
    )
    assert outside == []


def test_hostile_names_are_text_in_controls_drawings_and_tables(sheet):
    opened = sheet("hostile")
    assert opened.complaints == []
    assert opened.page.evaluate("window.hacked") is None
    choose(opened.page, crew=opened.page.locator("#crew option").nth(1).inner_text())
    assert opened.page.locator("img").count() == 0
    assert "<script>" in headline(opened.page)
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 1280


def test_the_choice_is_printed_and_what_is_drawn_is_not_cut(sheet):
    page = sheet(width=718).page
    choose(page, crew="K4", fault="Draught")
    page.emulate_media(media="print")
    assert page.locator("#crew").is_visible()
    assert not page.locator("#again").is_visible()
    assert headline(page).startswith("K4, draught: ")
    assert page.evaluate("document.documentElement.scrollWidth") <= 718
    assert len(FAULTS) < page.locator("#faults-drawing svg text").count()


def test_a_drawing_that_leaves_rows_out_says_so_and_its_table_has_them_all(sheet):
    page = sheet("many").page
    told = page.locator("#crews-table summary")
    assert told.inner_text() == "The numbers of all 30; the drawing has the first 24 and what you chose"
    assert page.locator("#crews-table tbody tr").count() == 30
    assert page.locator("#products-table summary").inner_text() == "The numbers of this drawing"
