"""Whatever a person writes into the workbook: the account closes, and a run after a run changes nothing."""

import shutil
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.books import safe_cell
from pipeline.ingest.mending.book import BOOK
from tests.ingest.conftest import Firm
from tests.ingest.mending.books import Sheet, opened

DOORS = "install_id,crew,fitted_on,leaves,width_mm\nD1,Alder,2025-01-10,4,4000\nD2,,2025-01-11,many,wide\n"
CELLS = [
    "",
    "D1",
    "D2",
    "sill_height",
    "sill",
    "12.5",
    "13",
    "1,234",
    "mm",
    "cm",
    "furlong",
    "2025-02-01",
    "abc",
    "=1+1",
]
COLUMNS = ["install_id", "measure", "member", "position_mm", "value", "unit"]
row = st.tuples(*(st.sampled_from(CELLS) for _ in COLUMNS)).filter(lambda cells: any(cells))
typed = st.one_of(
    st.sampled_from(CELLS), st.none(), st.dates(), st.integers(-5, 99), st.floats(-9, 9), st.text(max_size=5)
)
edits = st.lists(st.tuples(st.integers(0, 9), st.sampled_from(COLUMNS), typed), max_size=8)


def everything(firm: Firm) -> dict[str, object]:
    """All that a second run might have changed."""
    views = ("installs_history", "readings_history", "rejections", "loads", "marks", "corrections", "refused_texts")
    found = {view: sorted(map(repr, firm.ask(f"FROM {view}"))) for view in views}
    books = {path.name: path.read_bytes() for path in firm.out.glob("set_aside*.xlsx")}
    return {**found, **books, "files": firm.ask("SELECT * EXCLUDE (status) FROM files ORDER BY ALL")}


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(rows=st.lists(row, min_size=1, max_size=6), made=edits)
def test_mend_run_run_is_idempotent_and_the_account_closes(rows, made):
    root = Path(tempfile.mkdtemp(prefix="mending-"))
    try:
        (root / "records").mkdir()
        firm = Firm(root / "records", root / "out")
        firm.write("installs.csv", DOORS)
        lines = [",".join(f'"{cell}"' for cell in cells) for cells in rows]
        firm.write("readings.csv", "\n".join([",".join(COLUMNS), *lines]) + "\n")
        firm.take_in()
        mend(firm, made)
        firm.take_in()
        for record in ("installs", "readings"):
            read, taken_in, set_aside, repeats = firm.account(record)
            assert read == taken_in + set_aside + repeats
        assert firm.account("readings")[0] == len(rows)
        before = everything(firm)
        firm.take_in()
        assert everything(firm) == before
    finally:
        shutil.rmtree(root)


def mend(firm: Firm, made: list[tuple[int, str, object]]) -> None:
    if not (firm.out / BOOK).exists():
        return
    with opened(firm.out / BOOK) as book:
        if "readings" not in book.sheetnames:
            return
        sheet = Sheet(book["readings"])
        n_lines = len(sheet.lines)
        for number, column, value in made:
            sheet.put(number % n_lines, **{column: safe_cell(value)})
