"""links_to_review.xlsx: the doubtful links with names and addresses beside one another, for a person to decide.

Written from people.duckdb into the output folder and nowhere else. A cell that a spreadsheet would take for a formula
gets an apostrophe. The sheet is taken away once nothing is left to decide.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.books import safe_cell, save_book

if TYPE_CHECKING:
    import duckdb

REVIEW_SHEET = "links_to_review.xlsx"
ANSWER = "install_id"
NO_DOOR = "none"

_ROWS = """
    SELECT k.callback_id, NULL AS install_id, k.install_id AS possible_door, round(k.probability, 3) AS probability,
           k.why, c.reported_on, c.job_no AS callback_job_no, cp.customer AS callback_customer,
           cp.address AS callback_address, cp.postcode AS callback_postcode, cp.note,
           i.job_no AS door_job_no, ip.customer AS door_customer, ip.address AS door_address,
           ip.postcode AS door_postcode, i.product, i.leaves, i.width_mm, i.fitted_on
    FROM link_candidates AS k
    JOIN callbacks AS c USING (callback_id)
    JOIN installs AS i ON i.install_id = k.install_id
    LEFT JOIN people.callback_people AS cp ON cp.callback_id = k.callback_id
    LEFT JOIN people.install_people AS ip ON ip.install_id = k.install_id
    ORDER BY k.callback_id, k.probability DESC, k.install_id
"""
_HELP = (
    f"Write into {ANSWER} the door that the callback belongs to, once for each callback, or {NO_DOOR} where it is "
    "none of our doors; save and run fitback again. Holds names and addresses: do not pass it on."
)
_WIDTHS = {"why": 34, "note": 40, "callback_address": 28, "door_address": 28}


def write_review_sheet(connection: "duckdb.DuckDBPyConnection", out: Path) -> list[str]:
    """Writes the sheet anew, or takes it away where nothing is doubtful. Returns sentences worth telling.

    Raises PermissionError where another program holds the sheet.
    """
    relation = connection.execute(_ROWS)
    columns = [column[0] for column in relation.description or []]
    rows = relation.fetchall()
    if not rows:
        (out / REVIEW_SHEET).unlink(missing_ok=True)
        return []
    _save(columns, rows, out / REVIEW_SHEET)
    return doubts_told(connection)


def doubts_told(connection: "duckdb.DuckDBPyConnection") -> list[str]:
    """A sentence on the callbacks that the sheet asks about; nothing where there is none."""
    found = connection.execute(f"SELECT count(DISTINCT callback_id) FROM ({_ROWS})").fetchone()
    n_callbacks = found[0] if found else 0
    if not n_callbacks:
        return []
    which = "1 callback has" if n_callbacks == 1 else f"{n_callbacks:,} callbacks have"
    return [f"{which} no sure door; decide in {REVIEW_SHEET}, beside the results, and run again."]


def _save(columns: list[str], rows: list[tuple[object, ...]], path: Path) -> None:
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    sheet = book.create_sheet("links")
    for number, column in enumerate(columns, 1):
        sheet.column_dimensions[get_column_letter(number)].width = _WIDTHS.get(column, 16)
    sheet.freeze_panes = "C2"
    sheet.append(columns)
    for row in rows:
        sheet.append([safe_cell(value) for value in row])
    book.create_sheet("how").append([_HELP])
    save_book(book, path)
