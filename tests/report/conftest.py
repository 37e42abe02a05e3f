"""The pages of the invented firm, of a firm in its first week, and of one whose every name is hostile; made once."""

import os
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

import polars as pl
import pytest

from pipeline.report import write_pages
from pipeline.report.sheet import SHEETS
from pipeline.warehouse import locked
from tests.report.invented import HOSTILE, Frames, few_tables, invented_tables, write_results

Pages = dict[str, str]
MOST_SECONDS = 600.0  # that one worker waits for the pages that another makes


def pages_made(temporary: pytest.TempPathFactory, name: str, tables: Callable[[], Frames]) -> Path:
    """The folder of a firm's pages, made by the first worker that asks for it; the others read what that one made."""
    root = temporary.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        root = root.parent  # each worker has a folder of its own in the folder of them all
    made = root / f"pages_of_{name}"
    with locked(root / f"{made.name}.lock", MOST_SECONDS):
        if not made.is_dir():
            with TemporaryDirectory(dir=root) as work:
                write_pages(write_results(Path(work) / "results.duckdb", tables()), Path(work) / "pages")
                (Path(work) / "pages").rename(made)
    return made


def texts_of(folder: Path) -> Pages:
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(folder.rglob("*.html"))}


def pages_of(folder: Path, tables: Frames, parts: list[int] | None = None) -> Pages:
    """The pages by their name without ending. parts: which of them, as they are numbered; None: all."""
    results = write_results(folder / "results.duckdb", tables)
    return {path.stem: path.read_text(encoding="utf-8") for path in write_pages(results, folder / "pages", None, parts)}


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory, drawings_kept: None) -> Pages:
    return texts_of(pages_made(tmp_path_factory, "firm", invented_tables))


@pytest.fixture(scope="session")
def few_pages(tmp_path_factory: pytest.TempPathFactory, drawings_kept: None) -> Pages:
    return texts_of(pages_made(tmp_path_factory, "few", few_tables))


@pytest.fixture(scope="session")
def hostile_pages(tmp_path_factory: pytest.TempPathFactory, drawings_kept: None) -> Pages:
    return texts_of(pages_made(tmp_path_factory, "hostile", hostile_tables))


def hostile_tables() -> Frames:
    return hostile(invented_tables())


def hostile(tables: Frames) -> Frames:
    """Every name that a firm writes itself replaced by text that tries to be more than text."""
    crew = pl.col("crew") + HOSTILE
    changed: Frames = {
        "settings": tables["settings"].with_columns(firm=pl.lit(HOSTILE)),
        "staged_installs": tables["staged_installs"].with_columns(crew),
        "callback_rates": tables["callback_rates"].with_columns(
            crew=pl.when(pl.col("crew") == "all").then("crew").otherwise(crew)
        ),
        "weak_steps": tables["weak_steps"].with_columns(crew),
        **{name: tables[name].with_columns(crew) for name in ("signal_points", "signal_charts")},
        "signals": tables["signals"].with_columns(crew, what=pl.lit(HOSTILE), act=pl.lit(HOSTILE)),
        "training_effects": tables["training_effects"].with_columns(crew),
        "through_steps": tables["through_steps"].with_columns(crew),
        **{name: tables[name].with_columns(crew) for name in ("crew_outs", "watch_list", "usual_sides")},
        **{
            name: tables[name].with_columns(crew, product=pl.col("product") + HOSTILE)
            for name in ("explore_time", "explore_faults", "explore_steps")
        },
        "recorded_steps": tables["recorded_steps"].with_columns(
            crew=pl.when(pl.col("crew") == "all").then("crew").otherwise(crew)
        ),
        "catalogue_deviations": tables["catalogue_deviations"].with_columns(
            words=pl.col("words") + HOSTILE, do=pl.col("do") + HOSTILE
        ),
        "catalogue_faults": tables["catalogue_faults"].with_columns(words=pl.col("words") + HOSTILE),
        "limit_comparison": tables["limit_comparison"].with_columns(
            limit=pl.col("limit") + HOSTILE, source=pl.lit(HOSTILE), edition=pl.lit(HOSTILE)
        ),
        "example_doors": tables["example_doors"].with_columns(pl.col("install_id") + HOSTILE),
        "set_aside": tables["set_aside"].with_columns(value=pl.lit(HOSTILE), file=pl.lit(HOSTILE)),
        "corrections": tables["corrections"].with_columns(who=pl.lit(HOSTILE), after=pl.lit(HOSTILE)),
        "intake_account": tables["intake_account"].with_columns(file=pl.lit(HOSTILE)),
    }
    return tables | changed


@pytest.fixture(scope="session")
def make_pages(tmp_path_factory: pytest.TempPathFactory, drawings_kept: None) -> Callable[..., Pages]:
    """Makes the invented firm's pages with some tables replaced."""

    def make(**replaced: pl.DataFrame) -> Pages:
        return pages_of(tmp_path_factory.mktemp("changed"), invented_tables() | replaced)

    return make


@pytest.fixture(scope="session")
def make_page(tmp_path_factory: pytest.TempPathFactory, drawings_kept: None) -> Callable[..., str]:
    """Makes one page of the invented firm with some tables replaced, and no other."""
    numbers = {sheet.file_name.removesuffix(".html"): number for number, sheet in enumerate(SHEETS)}

    def make(name: str, **replaced: pl.DataFrame) -> str:
        return pages_of(tmp_path_factory.mktemp(name), invented_tables() | replaced, [numbers[name]])[name]

    return make
