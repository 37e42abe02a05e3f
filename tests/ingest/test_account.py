"""Whatever is done to a folder, the account closes: rows read = taken in + set aside + exact repeats."""

import csv
import io

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.errors import UserError

INSTALLS = [["install_id", "crew", "fitted_on", "width_mm", "customer"]] + [
    [f"D{n}", "Alder" if n % 2 else "Birch", f"2025-01-{n + 1:02}", "4000", f"Customer {n}"] for n in range(6)
]
READINGS = [["install_id", "measure", "member", "value", "unit", "read_on"]] + [
    [f"D{n % 6}", "sill_height", "sill", str(n), "mm", "2025-02-01"] for n in range(12)
]
CALLBACKS = [["callback_id", "install_id", "reported_on", "fault", "note"]] + [
    [f"C{n}", f"D{n}", f"2025-03-{n + 1:02}", "binding", "said so"] for n in range(5)
]
CREWS = [["crew"], ["Alder"], ["Birch"]]
TABLES = {"installs": INSTALLS, "readings": READINGS, "callbacks": CALLBACKS, "crews": CREWS}

damages = st.tuples(
    st.sampled_from(sorted(TABLES)),
    st.sampled_from(["cell", "copy", "drop cell", "add cell", "blank", "move", "split"]),
    st.integers(0, 11),
    st.integers(0, 5),
    st.sampled_from(["", "x", "-1", "D0", "2025-02-30", "1/8", "nan", "\u00a0", '"', "a\nb", "=1", "2999-01-01", "cm"]),
)


def damaged(rows, kind, row, column, text):
    rows = [list(cells) for cells in rows]
    place = 1 + row % (len(rows) - 1)
    cells = rows[place]
    if kind == "cell":
        cells[column % len(cells)] = text
    if kind == "copy":
        rows.append([*cells[:-1], text] if column % 2 else list(cells))
    if kind == "drop cell" and len(cells) > 1:
        cells.pop()
    if kind == "add cell":
        cells.append(text)
    if kind == "blank":
        rows.insert(place, [""] * (column % 3))
    if kind == "move":
        rows.append(rows.pop(place))
    return rows


def as_csv(rows):
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def expected_rows(text):
    """Rows as Python's own reader of CSV counts them, blank ones left out.

    A row that goes on over a line break and does not fit the header either is not taken for one row: its quote was
    not meant, and each of its lines counts.
    """
    header, *rows = list(csv.reader(io.StringIO(text)))
    return sum(n_rows(cells, len(header)) for cells in rows)


def n_rows(cells, width):
    if len(cells) != width and any("\n" in cell for cell in cells):
        return sum(bool(line.strip(" ,\u00a0")) for line in as_csv([cells]).splitlines())
    return any(cell.strip() for cell in cells)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(damages, max_size=6), min_size=1, max_size=2))
def test_the_account_always_closes(new_firm, deliveries):
    global COUNT
    COUNT += 1
    firm = new_firm(f"firm {COUNT}")
    tables = dict(TABLES)
    for number, delivery in enumerate(deliveries):
        for record, kind, row, column, text in delivery:
            if kind == "split":
                firm.write(f"{record} {number}.csv", as_csv([tables[record][0], *tables[record][1 + row % 3 :]]))
            else:
                tables[record] = damaged(tables[record], kind, row, column, text)
        for record, rows in tables.items():
            firm.write(f"{record}.csv", as_csv(rows))
        try:
            firm.take_in()
        except UserError as error:
            assert "No door" in str(error)  # noqa: PT017
            continue
        check_account(firm)


COUNT = 0


def check_account(firm):
    for record, file, n_read, n_in, n_out, n_repeats in firm.ask(
        "SELECT record, file, rows_read, rows_taken_in, rows_set_aside, rows_repeated FROM files "
        "WHERE record IS NOT NULL"
    ):
        assert n_read == n_in + n_out + n_repeats
        assert n_read == expected_rows((firm.folder / file).read_text())
        listed = firm.ask(
            f"SELECT count(*), count(DISTINCT \"row\") FROM rejections WHERE file = '{file}' AND scope = 'row'"
        )
        assert listed == [(n_out, n_out)]
        current = firm.ask(
            f"SELECT count(*) FROM {record}_history WHERE file = '{file}' AND state IN ('current', 'superseded') "
            'AND "version" = (SELECT max("version") FROM files WHERE file = \'' + file + "')"
        )
        assert current == [(n_in,)]
    for record, key in (("installs", "install_id"), ("callbacks", "callback_id"), ("crews", "crew")):
        assert firm.ask(f"SELECT {key} FROM {record} GROUP BY 1 HAVING count(*) > 1") == []
    assert firm.ask("SELECT install_id FROM readings WHERE install_id NOT IN (SELECT install_id FROM installs)") == []
    doors = firm.ask("SELECT install_id FROM installs ORDER BY 1")
    assert firm.people("SELECT install_id FROM install_people ORDER BY 1") == doors
