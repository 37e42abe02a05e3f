"""The documents: what they tell people to type exists, and what they show is what comes out."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.catalogue import load_catalogue
from pipeline.settings import load_settings

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def fitback(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pipeline", *words], cwd=ROOT, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize("target", sorted(set(re.findall(r"`make (\w+)", README + DEVELOPERS))))
def test_every_make_target_that_is_named_exists(target: str) -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    assert re.search(rf"^{target}:", makefile, re.MULTILINE)


@pytest.mark.parametrize("command", sorted(set(re.findall(r"bin/fitback (\w+)", README))))
def test_every_command_that_is_named_explains_itself(command: str) -> None:
    shown = fitback(command, "--help")
    assert shown.returncode == 0
    assert len(shown.stdout.split()) > 20


@pytest.mark.parametrize(
    "path", sorted(set(re.findall(r"`((?:pipeline|dbt_like_sql|tests|data)/[\w./]*)`", README + DEVELOPERS)))
)
def test_every_file_that_is_named_exists(path: str) -> None:
    assert (ROOT / path).exists()


def test_the_list_of_published_figures_names_every_test_file_and_no_other() -> None:
    folder = ROOT / "tests" / "published"
    named = re.findall(r"`(test_\w+\.py)(?:::(\w+))?`", (folder / "README.md").read_text(encoding="utf-8"))
    assert {file for file, _ in named} == {path.name for path in folder.glob("test_*.py")}
    for file, test in named:
        assert f"def {test}" in (folder / file).read_text(encoding="utf-8")


@pytest.mark.parametrize("link", sorted(set(re.findall(r"\]\(([\w./]+)\)", README + DEVELOPERS))))
def test_every_link_leads_somewhere(link: str) -> None:
    assert (ROOT / link).is_file()


def test_the_readme_lists_every_word_that_may_be_written() -> None:
    catalogue = load_catalogue()
    rows = (*catalogue.measures, *catalogue.checks, *catalogue.faults)
    words = [row.name for row in rows] + [
        word for name in ("steps", "outcomes", "responsibilities") for word in catalogue.words[name]
    ]
    assert [word for word in words if f"`{word}`" not in README] == []


def test_the_settings_that_the_documents_show_are_taken(tmp_path: Path) -> None:
    blocks = re.findall(r"```toml\n(.*?)```", README + DEVELOPERS, re.DOTALL)
    assert len(blocks) >= 2
    for number, block in enumerate(blocks):
        folder = tmp_path / str(number)
        folder.mkdir()
        (folder / "fitback.toml").write_text(block, encoding="utf-8")
        settings, catalogue = load_settings(folder)
        assert settings.firm or catalogue.deviations[-1].name
