"""Matches a written folder, takes it in, and holds what came of it to what was meant."""

import tomllib
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.match import match_files
from tests.ingest.conftest import Firm
from tests.ingest.matching.unseen.firm import Meant


@dataclass
class Measured:
    """n_headings and mapped: headings that carry something; wrong: taken in and not meant; missed: not taken in."""

    n_headings: int = 0
    unmapped: list[tuple[str, str]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    missed: Counter = field(default_factory=Counter)
    met: Counter = field(default_factory=Counter)
    set_aside: list = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    unaccounted: list = field(default_factory=list)

    @property
    def told(self) -> str:
        mapped = self.n_headings - len(self.unmapped)
        return (
            f"{mapped}/{self.n_headings} columns, {len(self.wrong)} wrong, met {dict(self.met)}, "
            f"missed {dict(self.missed)}, set aside {len(self.set_aside)}"
        )


def measured(write, base: Path) -> Measured:
    """What came of a writer's folder."""
    folder = base / "records"
    folder.mkdir(parents=True)
    meant = write(folder)
    summary = match_files(sorted(folder.iterdir()), is_terminal=False)
    firm = Firm(folder, base / "out")
    firm.take_in()
    result = Measured(said=summary.sentences)
    _headings(folder, meant, result)
    _rows(firm, "installs", meant.installs, "install_id", result)
    _rows(firm, "callbacks", meant.callbacks, "reported_on", result)
    _rows(firm, "crews", meant.crews, "crew", result)
    _rows(firm, "training", meant.training, "crew", result)
    _bags(firm, meant, result)
    result.set_aside = firm.ask('SELECT file, "row", "column", "value", reason FROM rejections ORDER BY ALL')
    result.unaccounted = firm.ask(
        "SELECT file, record, rows_read FROM files WHERE rows_read <> rows_taken_in + rows_set_aside + rows_repeated"
    )
    return result


# Keys of a [[sheet]] table that name columns of which nothing is read, or no column.
_READ_NOTHING = ("ignore", "not_placed", "skip", "file", "fill_down")


def _headings(folder: Path, meant: Meant, result: Measured) -> None:
    toml = folder / "fitback.toml"
    text = toml.read_text(encoding="utf-8") if toml.exists() else ""
    used = []
    for block in tomllib.loads(text).get("sheet", []):
        used += _strings({k: v for k, v in block.items() if k not in _READ_NOTHING})
    folds = [folded(one) for one in used]
    result.n_headings = len(meant.headings)
    for file, heading in meant.headings:
        want = folded(heading)
        if not any(want == one or want in one.split(" / ") or _is_part(want, one) for one in folds):
            result.unmapped.append((file, heading))


def _is_part(want: str, one: str) -> bool:
    """Whether a path of a form or a heading of several rows holds the heading."""
    return len(want) > 2 and any(part.startswith(want) for part in one.split(" / "))


def _strings(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from _strings(one)
    elif isinstance(value, list):
        for one in value:
            yield from _strings(one)


_PERSONAL = {"customer", "address", "postcode", "note"}


def _rows(firm: Firm, record: str, truth: list[dict], key: str, result: Measured) -> None:
    names = sorted({name for row in truth for name in row})
    got = {}
    if not truth:
        n = firm.ask(f"SELECT count(*) FROM {record}")[0][0]
        if n:
            result.wrong.append(f"{record}: {n} rows, none meant")
        return
    own = "install_id" if record == "installs" else "callback_id"
    columns = [name for name in names if name not in _PERSONAL]
    extra = [own] if own not in columns and record in ("installs", "callbacks") else []
    for values in firm.ask(f"SELECT {', '.join([*columns, *extra])} FROM {record}"):
        row = dict(zip([*columns, *extra], values, strict=True))
        got.setdefault(row[key], []).append(row)
    people = _people(firm, record)
    for row in truth:
        found = got.pop(row[key], [])
        if len(found) != 1:
            (result.wrong.append(f"{record} {row[key]}: {len(found)} rows") if found else None)
            result.missed[f"{record} rows"] += 1
            continue
        mine = found[0] | (people.get(found[0].get(own), {}) if record in ("installs", "callbacks") else {})
        for name, value in row.items():
            have = mine.get(name)
            if have is None:
                result.missed[f"{record}.{name}"] += 1
            elif _same(have, value):
                result.met[record] += 1
            else:
                result.wrong.append(f"{record} {row[key]} {name}: {have!r}, meant {value!r}")
    result.wrong += [f"{record}: a row {one} never meant" for ones in got.values() for one in ones]


def _people(firm: Firm, record: str) -> dict:
    tables = {name for (name,) in firm.people("SELECT table_name FROM information_schema.tables")}
    found = {}
    for table in tables:
        names = [
            n
            for (n,) in firm.people(f"SELECT column_name FROM information_schema.columns WHERE table_name = '{table}'")
        ]
        own = "install_id" if record == "installs" else "callback_id"
        if own in names or "id" in names:
            for values in firm.people(f'SELECT * FROM "{table}"'):
                row = dict(zip(names, values, strict=True))
                found.setdefault(row.get(own, row.get("id")), {}).update(
                    {k: v for k, v in row.items() if k in _PERSONAL and v}
                )
    return found


def _same(have, value) -> bool:
    if isinstance(value, float) or isinstance(have, float):
        return abs(float(have) - float(value)) < 0.01
    if isinstance(value, date):
        return str(have)[:10] == value.isoformat()
    return str(have).casefold() == str(value).casefold()


def _bags(firm: Firm, meant: Meant, result: Measured) -> None:
    got = Counter()
    width = {row["install_id"]: row.get("width_mm") for row in meant.installs}
    for known, measure, member, station, position, value in firm.ask(
        "SELECT install_id, measure, member, station, position_mm, value FROM readings"
    ):
        if value is None:
            # written "ok": kept as within what was allowed, and no number
            continue
        if position is None and member in ("sill", "head") and width.get(known) is not None:
            share = {"left": 0.0, "centre": 0.5, "right": 1.0}.get(station or "")
            share = float(station[:-1]) / 100 if share is None and (station or "").endswith("%") else share
            position = share * width[known] if share is not None else None
        got[
            (
                known,
                measure,
                member or None,
                position if position is not None else station or None,
                round(value, 3),
            )
        ] += 1
    want = Counter((k, m, b or None, p, round(float(v), 3)) for k, m, b, p, v in meant.readings)
    _bag("readings", got, _at_places_read(want, got), result)
    checks = Counter(
        (k, c, m or None, o) for k, c, m, o in firm.ask('SELECT install_id, "check", member, outcome FROM checks')
    )
    _bag("checks", checks, Counter(meant.checks), result)


_NEAR_MM = 0.06  # half of the tenth that positions are kept to, and what arithmetic adds


def _at_places_read(want: Counter, got: Counter) -> Counter:
    """What was meant, each at the position that it was read at, where that is the same but for rounding."""
    read: dict[tuple, list[float]] = {}
    for known, measure, member, place, value in got:
        if isinstance(place, float):
            read.setdefault((known, measure, member, value), []).append(place)
    moved: Counter = Counter()
    for (known, measure, member, place, value), n in want.items():
        at = read.get((known, measure, member, value), ()) if isinstance(place, float) else ()
        near = min(at, key=lambda one, meant=place: abs(one - meant), default=None)
        is_same = near is not None and abs(near - place) <= _NEAR_MM
        moved[(known, measure, member, near if is_same else place, value)] += n
    return moved


def _bag(name: str, got: Counter, want: Counter, result: Measured) -> None:
    result.met[name] += sum((got & want).values())
    result.wrong += [f"{name}: {one} x{n} never meant" for one, n in (got - want).items()]
    for one, n in (want - got).items():
        result.missed[f"{name} {one[1]}"] += n
