"""Crews as codes: no page, drawing, embedded table or workbook has a name; codes stay; a firm's texts are coded too."""

import re
import zipfile
from base64 import b64decode
from pathlib import Path

import polars as pl
import pytest

from pipeline.crew_codes import KEY_FILE, Coder, crew_codes, lay_over, names_in_sheets, read_key, with_new
from pipeline.errors import UserError
from pipeline.report import write_pages
from pipeline.report.book import write_book
from pipeline.warehouse import open_results
from tests.report.invented import CREWS, invented_tables, write_results

pytestmark = pytest.mark.usefixtures("drawings_kept")

# Obvious and hostile: a person's name, a team, signs of patterns and of markup, a name within another, foreign letters.
NAMES = (
    "Crew Quillby", "Wendeline Oddfellow", "Team Zebedee", "O'Marrow & Sons", "K(.*)+?z", "<b>Bartleby</b>",
    '"Quoted" Smythe', "Quillby Junior", "Żółtowski", "Q7x",
)  # fmt: skip
WORDS = ("Quillby", "Wendeline", "Oddfellow", "Zebedee", "Marrow", "K(.*)", "Bartleby", "Smythe", "Żółtowski", "Q7x")


def named(tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """The invented firm with those names for its crews, which also stand in its files' names and our own sentences."""
    by_name = dict(zip(CREWS, NAMES, strict=True))
    changed = {
        name: frame.with_columns(pl.col(column).replace(by_name))
        for name, frame in tables.items()
        for column in ("crew", "level")
        if column in frame.columns
    }
    files = [f"{name.lower().replace(' ', '_')} 2025.csv" for name in NAMES]
    set_aside = tables["set_aside"].head(4).with_columns(
        file=pl.Series(files[:4]), value=pl.Series(NAMES[:4]), column=pl.Series(["crew", "note_by", "crew", "value"]),
        reason=pl.lit(f"no crew {NAMES[1]} in crews; did you mean {NAMES[0]}?"),
    )  # fmt: skip
    signals = changed["signals"].with_columns(
        what=pl.lit(f"From May on, {NAMES[1]}'s doors and {NAMES[5]}'s are worse")
    )
    account = tables["intake_account"].with_columns(file=pl.lit(files[0]))
    known = tables["explore_names"].with_columns(pl.col("name", "label").replace(by_name))
    return tables | changed | {
        "set_aside": set_aside, "signals": signals, "intake_account": account, "explore_names": known,
    }  # fmt: skip


@pytest.fixture(scope="module")
def coded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with pages and workbook in codes."""
    folder = tmp_path_factory.mktemp("coded")
    results = write_results(folder / "results.duckdb", named(invented_tables()))
    codes = crew_codes(results, folder / KEY_FILE)
    write_pages(results, folder / "pages", codes)
    write_book(results, folder / "fitback.xlsx", codes)
    return folder


def everything_in(path: Path) -> str:
    """The text of a page and of what is embedded in it, or of all parts of a workbook."""
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            return "\n".join(book.read(name).decode("utf-8", "replace") for name in book.namelist())
    text = path.read_text(encoding="utf-8")
    embedded = re.findall(r"base64,([A-Za-z0-9+/=]+)", text)
    return "\n".join([text, *(b64decode(part).decode("utf-8") for part in embedded)])


def test_no_page_and_no_workbook_holds_any_name(coded):
    files = [*coded.rglob("*.html"), coded / "fitback.xlsx"]
    assert len(files) > len(CREWS) + 7
    for path in files:
        text = everything_in(path)
        found = [word for word in WORDS if re.search(rf"(?<!\w){re.escape(word)}(?!\w)", text, re.IGNORECASE)]
        assert (path.name, found) == (path.name, [])
        assert not [word for word in ("quillby", "oddfellow") if word in path.name]


def test_every_crew_stands_on_the_pages_under_its_code_and_the_records_sheet_says_how(coded):
    codes = read_key(coded / KEY_FILE)
    assert set(codes) == set(NAMES)
    training = (coded / "pages" / "training.html").read_text(encoding="utf-8")
    assert all(re.search(rf"\b{code}\b", training) for code in codes.values())
    assert {path.stem for path in (coded / "pages" / "crews").iterdir()} == {code.lower() for code in codes.values()}
    records = (coded / "pages" / "records.html").read_text(encoding="utf-8")
    assert "Crews stand under codes" in records
    assert "crew_codes.csv" in records


def test_codes_once_given_stay_and_a_new_crew_takes_the_next_number(tmp_path):
    first = with_new(["Ash", "Birch", "Elm"], {})
    assert sorted(first.values()) == ["C01", "C02", "C03"]
    later = with_new(["Aaron", "Birch", "Elm"], first)
    assert {crew: later[crew] for crew in first} == first
    assert later["Aaron"] == "C04"
    assert with_new(["Elm", "Ash", "Birch"], {}) == first


def test_a_code_is_never_the_name_of_another_crew():
    assert not set(with_new(["C01", "c02", "Q3"], {}).values()) & {"C01", "C02", "Q3"}


def test_a_key_changed_by_hand_counts_and_one_that_is_none_is_told(tmp_path):
    key = tmp_path / KEY_FILE
    key.write_text("crew,code\n'=Ash,Blue\nElm,C02\n't Hagen,C03\n", encoding="utf-8")
    assert read_key(key) == {"=Ash": "Blue", "Elm": "C02", "'t Hagen": "C03"}
    key.write_text("crew,code\nAsh,C01\nElm,C01\n", encoding="utf-8")
    with pytest.raises(UserError, match="gives the code C01 to two crews"):
        read_key(key)
    key.write_text("crew,code\nAsh,All\n", encoding="utf-8")
    with pytest.raises(UserError, match="gives a crew the code All, which stands for crews together"):
        read_key(key)


@pytest.mark.parametrize("text", ["crew;code\nAsh;C01\n", "Ash,C01\nElm,C02\n", "code,crew\nC01,Ash\n", "\n\n", ""])
def test_a_key_without_its_headings_is_told_and_never_taken_for_none(tmp_path, text):
    """Every crew would get another code, and what was handed on before would speak of other crews."""
    (tmp_path / KEY_FILE).write_text(text, encoding="utf-8")
    with pytest.raises(UserError, match="does not begin with the columns crew and code"):
        read_key(tmp_path / KEY_FILE)


def test_sheets_of_doors_that_name_a_crew_are_counted(tmp_path):
    for name, text in {"D1": "O&#39;Marrow &amp; Sons, Fold 75", "D2": "Crew C01, Fold 75"}.items():
        (tmp_path / f"{name}.html").write_text(text, encoding="utf-8")
    assert names_in_sheets(tmp_path, {"O'Marrow & Sons": "C01"}) == 1
    assert names_in_sheets(tmp_path / "none", {"Ash": "C01"}) == 0


def test_who_read_is_shown_as_the_crew_or_not_at_all():
    coder = Coder({"Crew Ash": "C01"})
    rows = [{"crew": "Crew Ash", "read_by": "crew ash"}, {"crew": "Elm", "read_by": "J. Ash"}, {"read_by": None}]
    assert coder.rows(rows) == [
        {"crew": "C01", "read_by": "C01"}, {"crew": "not on record", "read_by": "not shown"}, {"read_by": None},
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("readings crew_ash-2025.xlsx", "readings C01-2025.xlsx"),
        ("ash.csv", "C01.csv"),
        ("washed ashore, slashes", "washed ashore, slashes"),
        ("A door of crew A", "A door of C02"),
        ("Al's doors, and also", "C03's doors, and also"),
        ("O'MARROW & SONS said so", "C04 said so"),
    ],
)
def test_names_in_what_a_firm_wrote_are_coded_and_other_words_are_not(text, shown):
    coder = Coder({"Crew Ash": "C01", "A": "C02", "Al": "C03", "O'Marrow & Sons": "C04"})
    assert coder.loose(text) == shown


def test_our_own_sentences_keep_the_words_of_the_trade():
    coder = Coder({"Crew Glass": "C01"})
    assert coder.sentence("glass_mm must be a number, says Crew Glass") == "glass_mm must be a number, says C01"


def test_a_table_seen_in_codes_has_the_same_rows_in_the_same_order(tmp_path):
    tables = invented_tables()
    results = write_results(tmp_path / "results.duckdb", tables)
    codes = crew_codes(results, tmp_path / KEY_FILE)
    with open_results(results) as connection:
        lay_over(connection, codes)
        for name in ("weak_steps", "crew_outs", "callback_rates", "signal_points"):
            shown = connection.sql(f'FROM "{name}"').pl()
            assert shown.equals(tables[name].with_columns(pl.col("crew").replace(codes)).select(shown.columns)), name
