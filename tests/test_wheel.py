"""What a firm installs: the wheel holds every file, and the demo runs from it in an empty folder."""

import re
import subprocess
import sys
import sysconfig
import tarfile
import zipfile
from pathlib import Path

import pytest

from pipeline.demo.files import clone_folder, demo_folder

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = {"pipeline": "pipeline", "dbt_like_sql": "dbt_like_sql", "data/demo": "pipeline/demo/data"}

pytestmark = pytest.mark.slow


def run(*command: object, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Runs a command with no standard input and fails with what it said."""
    words = [str(word) for word in command]
    done = subprocess.run(words, cwd=cwd, text=True, capture_output=True, stdin=subprocess.DEVNULL, check=False)
    assert done.returncode == 0, f"{' '.join(words)}\n{done.stdout}\n{done.stderr}"
    return done


def build(kind: str, folder: Path) -> Path:
    """Builds the wheel or the source archive into a folder and returns its path."""
    run(sys.executable, "-m", "build", f"--{kind}", "--no-isolation", "--outdir", folder, cwd=ROOT)
    (built,) = folder.iterdir()
    return built


def packaged_files() -> set[str]:
    """Where each file of the packages and of the demo must lie in the wheel."""
    return {
        f"{target}/{path.relative_to(ROOT / source).as_posix()}"
        for source, target in PACKAGES.items()
        for path in (ROOT / source).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this project."""
    return build("wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The programs of a fresh environment that holds the wheel and sees the libraries installed here.

    A .pth file lends those libraries without the in-place install of this clone, as Python reads no .pth
    file in a folder that another one names.
    """
    home = tmp_path_factory.mktemp("firm") / "venv"
    run(sys.executable, "-m", "venv", "--without-pip", home, cwd=ROOT)
    (programs,) = [folder for folder in (home / "bin", home / "Scripts") if folder.is_dir()]
    python = programs / "python"
    run(sys.executable, "-m", "pip", "--python", python, "install", "--no-deps", "--no-index", wheel, cwd=home)
    libraries = run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=home).stdout
    (Path(libraries.strip()) / "lent.pth").write_text(sysconfig.get_path("purelib"), "utf-8")
    return programs


def test_the_wheel_holds_every_file_of_the_packages_and_the_demo(wheel: Path) -> None:
    held = set(zipfile.ZipFile(wheel).namelist())
    assert {name for name in held if ".dist-info/" not in name} == packaged_files()


def test_the_source_archive_holds_what_the_wheel_is_built_from(tmp_path: Path) -> None:
    with tarfile.open(build("sdist", tmp_path)) as archive:
        held = {name.split("/", 1)[1] for name in archive.getnames()}
    sources = [path for source in PACKAGES for path in (ROOT / source).rglob("*")]
    wanted = {p.relative_to(ROOT).as_posix() for p in sources if p.is_file() and "__pycache__" not in p.parts}
    assert wanted <= held
    assert {"pyproject.toml", "Makefile", "requirements.lock", "README.md"} <= held


def test_a_clone_finds_the_demo_in_its_own_data_folder() -> None:
    assert clone_folder() == ROOT
    assert demo_folder() == ROOT / "data" / "demo"
    assert (demo_folder() / "fitback.toml").is_file()


def test_an_installed_wheel_finds_the_demo_inside_the_package(installed: Path, tmp_path: Path) -> None:
    code = "from pipeline.demo.files import clone_folder, demo_folder; print(clone_folder(), demo_folder())"
    clone, folder = run(installed / "python", "-c", code, cwd=tmp_path).stdout.split()
    assert clone == "None"
    assert Path(folder).is_relative_to(installed.parent)
    assert {p.name for p in Path(folder).iterdir()} == {p.name for p in (ROOT / "data" / "demo").iterdir()}


@pytest.fixture(scope="module")
def demo(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A folder that was empty before `fitback demo` ran in it, and what that printed."""
    folder = tmp_path_factory.mktemp("empty")
    return folder, run(installed / "fitback", "demo", cwd=folder).stdout


def test_fitback_demo_runs_from_an_installed_wheel_in_an_empty_folder(demo: tuple[Path, str]) -> None:
    folder, said = demo
    pages = folder / "fitback-demo" / "pages"
    assert "fitback-demo" in said
    assert (pages / "index.html").stat().st_size > 10_000
    assert [path.name for path in folder.iterdir()] == ["fitback-demo"]
    assert list((folder / "fitback-demo" / "tables").glob("effects.*"))


def test_the_readme_shows_what_the_demo_prints(demo: tuple[Path, str]) -> None:
    block = re.search(r"```text\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    assert block
    printed = demo[1].replace("fitback-demo", "reports")  # where a clone leaves them
    assert block[1].strip().splitlines() == printed.strip().splitlines()
