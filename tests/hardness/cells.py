"""Cells that people, programs and those who mean harm write, and rows with such cells in them."""

import random

MARK = "zzmark"
NASTY = (
    '=cmd|"/c calc"!A1', '=HYPERLINK("http://example.invalid";"x")', "+1+1", "-1-1", "@SUM(A1)", "\t=1+1", "\r=1+1",
    "=1+1", "＝1+1", " =1+1", "'=1+1", f"<{MARK} onload=alert(1)>", f"</script><{MARK}>", f'"><{MARK} x="',
    f"]]><{MARK}>", f"<img src=x onerror={MARK}()>", f"javascript:{MARK}()", f"&lt;{MARK}&gt;", "{{7*7}}", "{% raw %}",
    "${7*7}", "'; DROP TABLE installs; --", '"', '""', "'", "\\", "\\N", ";", ",", "a,b", "a\nb", "a\r\nb", "\u2028",
    "\u202etxt", "\ufeff", "\u200b", "\U0001f6aa", "é" * 300, "A" * 20_000, "NULL", "None", "nan", "inf", "-inf",
    "1e400", "-1e400", "9" * 400, "0x1F", "1_000", "１２", "1,2,3,4", "1.2.3", "--5", "5-", "1/0", "00", "-0", "1e-400",
    "TRUE", "#REF!", "#N/A", "n/a", "31/02/2025", "0000-00-00", "9999-12-31", "99999999-01-01", "2025-06-31T25:61",
    "1900-02-29", "-1", "", " ", "\xa0", "\x07", "\x1b[2J", "../../etc/passwd", "C:\\con", "%00", "%s%s%n", "D1", "all",
    "crew all",
)  # fmt: skip

Rows = list[list[str]]


def with_nasty_cells(chance: random.Random, rows: Rows) -> Rows:
    """The rows with some cells (never the column names) replaced; as many rows as before."""
    changed = [list(row) for row in rows]
    for _ in range(chance.randint(1, 12)):
        row = chance.choice(changed[1:])
        row[chance.randrange(len(row))] = chance.choice(NASTY)
    return changed


def with_nasty_names(chance: random.Random, rows: Rows) -> Rows:
    """The rows with a column name replaced, doubled or taken away."""
    names, *others = [list(row) for row in rows]
    place = chance.randrange(len(names))
    names[place] = chance.choice([*NASTY, chance.choice(names)])
    return [names, *others]


def file_endings(chance: random.Random) -> str:
    """What may follow a record's name in the name of a file: tricks with paths, patterns, shells and quotes."""
    tricks = (
        " ..", " %2e%2e%2f", " ;rm -rf x", " $(touch x)", " `touch x`", " '; DROP TABLE files; --", ' "quoted"',
        " {a,b}", " [0-9]", " *", " ?", " ~", " -rf", " \u202egnp", " é", " \U0001f6aa", " " + "n" * 180,
        f" <{MARK}>", " &amp;", " =1+1", " @x", " a\nb", " a\tb", " a=b", " #1", " %s", " \\x", " 'x'", " :memory:",
    )  # fmt: skip
    return chance.choice(tricks)
