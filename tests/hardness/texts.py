"""Files of records written as CSV, JSON lines, XLSX and Parquet, whole or spoilt."""

import csv
import io
import json
import random
import re
import zipfile
import zlib
from collections.abc import Callable

from tests.hardness.cells import Rows

Spoil = Callable[[random.Random, bytes], bytes]

ENCODINGS = (
    "utf-16",
    "utf-16-le",
    "utf-32",
    "latin-1",
    "cp1252",
    "utf-8-sig",
    "utf-7",
    "shift_jis",
    "cp037",
    "mac-roman",
)


def as_csv(rows: Rows) -> bytes:
    """The rows with quotes where they are needed."""
    file = io.StringIO(newline="")
    csv.writer(file, lineterminator="\n").writerows(rows)
    return file.getvalue().encode("utf-8", "surrogatepass")


def as_json(rows: Rows) -> bytes:
    """One object a row."""
    names, *others = rows
    return "\n".join(json.dumps(dict(zip(names, row, strict=True))) for row in others).encode()


def as_xlsx(rows: Rows) -> bytes:
    """One sheet of texts; what begins as a formula stands there as one, as a person would type it."""
    from openpyxl import Workbook
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    book = Workbook(write_only=True)
    sheet = book.create_sheet("records")
    for row in rows:
        sheet.append([ILLEGAL_CHARACTERS_RE.sub(" ", cell)[:32_000] for cell in row])
    file = io.BytesIO()
    book.save(file)
    return _undated(file)


def _undated(book: io.BytesIO) -> bytes:
    """The workbook without the moment it was saved at, so that the same seed gives the same bytes to spoil."""
    file = io.BytesIO()
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            text = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2026-01-01T00:00:00Z", old.read(entry))
            new.writestr(zipfile.ZipInfo(entry.filename), text, zipfile.ZIP_DEFLATED)
    return file.getvalue()


def as_parquet(rows: Rows) -> bytes:
    """Columns of text; of two columns with one name the last stays."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    names, *others = rows
    columns = dict(zip(names, map(list, zip(*others, strict=True)), strict=True))
    file = io.BytesIO()
    pq.write_table(pa.table({name: pa.array(cells, pa.string()) for name, cells in columns.items()}), file)
    return file.getvalue()


def truncated(chance: random.Random, data: bytes) -> bytes:
    """The file up to some byte."""
    return data[: chance.randrange(len(data))]


def flipped(chance: random.Random, data: bytes) -> bytes:
    """Some bytes replaced."""
    changed = bytearray(data)
    for _ in range(chance.randint(1, 40)):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def shuffled(chance: random.Random, data: bytes) -> bytes:
    """Pieces of the file in another order."""
    step = max(1, len(data) // chance.randint(2, 20))
    pieces = [data[start : start + step] for start in range(0, len(data), step)]
    chance.shuffle(pieces)
    return b"".join(pieces)


def cut_out(chance: random.Random, data: bytes) -> bytes:
    """A piece taken out."""
    start = chance.randrange(len(data))
    return data[:start] + data[start + chance.randint(1, 2_000) :]


def put_in(chance: random.Random, data: bytes) -> bytes:
    """Foreign bytes put in: zeros, quotes, line ends, noise."""
    start = chance.randrange(len(data))
    foreign = chance.choice(
        [b"\0" * 50, b'"', b'"' * 999, b"\r", b"\n" * 500, b"\xff\xfe", chance.randbytes(300), b"{" * 5_000]
    )
    return data[:start] + foreign + data[start:]


def doubled(chance: random.Random, data: bytes) -> bytes:
    """The whole file behind itself, header and all."""
    return data * chance.randint(2, 3)


def encoded(chance: random.Random, data: bytes) -> bytes:
    """The text in another encoding."""
    return data.decode("utf-8", "replace").encode(chance.choice(ENCODINGS), "replace")


def line_ends(chance: random.Random, data: bytes) -> bytes:
    """Other ends of lines."""
    return data.replace(b"\n", chance.choice([b"\r", b"\r\n", b"\n\r", b"\r\r\n", b"\n\n"]))


def very_wide(chance: random.Random, data: bytes) -> bytes:
    """A line with a million cells, in the header or further down."""
    lines = data.split(b"\n")
    lines[chance.randrange(len(lines))] += b"," * 1_000_000
    return b"\n".join(lines)


def very_long(chance: random.Random, data: bytes) -> bytes:
    """One cell of eight million letters, quoted or not, and many empty lines."""
    lines = data.split(b"\n")
    lines[chance.randrange(len(lines))] = chance.choice([b'"', b""]) + b"x" * 8_000_000
    return b"\n".join(lines) + b"\n" * 100_000


def other_separator(chance: random.Random, data: bytes) -> bytes:
    """Semicolons, tabs and bars instead of commas."""
    return data.replace(b",", chance.choice([b";", b"\t", b"|", b" ", b",,"]))


def nested(chance: random.Random, data: bytes) -> bytes:
    """A line of brackets within brackets, deeper than a reader of JSON may go."""
    deep = chance.choice([b"[", b'{"a":']) * 100_000
    return data + b"\n" + b'{"install_id":' + deep + b"\n"


def repacked(chance: random.Random, data: bytes) -> bytes:
    """A workbook with one of its parts taken away, emptied or spoilt."""
    parts = _parts(data)
    name = chance.choice(sorted(parts))
    spoil = chance.choice(
        [lambda text: None, lambda text: b"", lambda text: flipped(chance, text), lambda text: truncated(chance, text)]
    )
    spoilt = spoil(parts.pop(name))
    return _packed({**parts, **({} if spoilt is None else {name: spoilt})})


def exploding(chance: random.Random, data: bytes) -> bytes:
    """A workbook that is small packed and large unpacked: entities within entities, far cells, repeated bytes."""
    parts = _parts(data)
    name = chance.choice([part for part in parts if "worksheets/" in part])
    kind = chance.choice(["entities", "file", "far", "repeated", "lying", "columns"])
    if kind == "entities":
        levels = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
        text = f'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY e0 "ha">{levels}]>'.encode() + _body(parts[name])
        parts[name] = text.replace(b"<t>", b"<t>&e9;", 1)
    elif kind == "file":
        text = b'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY x SYSTEM "file:///etc/hostname">]>' + _body(parts[name])
        parts[name] = text.replace(b"<t>", b"<t>&x;", 1)
    elif kind == "far":
        cell = b'<row r="1048576"><c r="XFD1048576" t="inlineStr"><is><t>x</t></is></c></row></sheetData>'
        parts[name] = parts[name].replace(b"</sheetData>", cell)
    elif kind == "columns":
        cells = b"".join(b'<c r="XFD%d"><v>1</v></c>' % row for row in range(2, 3))
        parts[name] = parts[name].replace(b"</sheetData>", b'<row r="200000">' + cells + b"</row></sheetData>")
    else:
        parts[name] = parts[name].replace(b"</sheetData>", b" " * 300_000_000 + b"</sheetData>")
    packed = _packed(parts)
    return _lying_of_size(packed, name) if kind == "lying" else packed


def typed_otherwise(chance: random.Random, data: bytes) -> bytes:
    """Parquet with columns of other types than text: lists, bytes, decimals, moments, nothing, no rows."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    table = pq.read_table(io.BytesIO(data))
    n = table.num_rows
    columns = [
        pa.array([[1, 2]] * n), pa.array([{"a": 1}] * n), pa.array([b"\xff\0"] * n), pa.nulls(n), pa.array([True] * n),
        pa.array([10**20] * n, pa.decimal128(38, 5)), pa.array([2**63] * n, pa.uint64()), pa.array([float("nan")] * n),
        pa.array([10**15] * n, pa.timestamp("us", "UTC")), pa.array([-(10**6)] * n, pa.date32()),
        pa.array([1] * n, pa.time32("s")),
        pa.array(["a"] * n).dictionary_encode(), pa.array([1] * n, pa.duration("s")),
    ]  # fmt: skip
    for _ in range(chance.randint(1, 3)):
        place = chance.randrange(table.num_columns)
        table = table.set_column(place, table.column_names[place], chance.choice(columns))
    table = table.slice(0, chance.choice([n, n, n, 0]))
    file = io.BytesIO()
    pq.write_table(table, file)
    return file.getvalue()


BYTES: tuple[Spoil, ...] = (truncated, flipped, shuffled, cut_out, put_in, doubled)
TEXT: tuple[Spoil, ...] = (encoded, line_ends, very_wide, very_long, other_separator)
WRITERS: dict[str, Callable[[Rows], bytes]] = {
    ".csv": as_csv,
    ".jsonl": as_json,
    ".xlsx": as_xlsx,
    ".parquet": as_parquet,
}
SPOILERS: dict[str, tuple[Spoil, ...]] = {
    ".csv": (*BYTES, *TEXT),
    ".jsonl": (*BYTES, *TEXT, nested),
    ".xlsx": (*BYTES, repacked, repacked, exploding),
    ".parquet": (*BYTES, typed_otherwise),
}


def _parts(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _packed(parts: dict[str, bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return file.getvalue()


def _body(text: bytes) -> bytes:
    return re.sub(rb"^<\?xml[^>]*\?>", b"", text)


def _lying_of_size(packed: bytes, name: str) -> bytes:
    """The archive with another unpacked size written for the part, in both of its tables."""
    size = _unpacked_size(packed, name).to_bytes(4, "little")
    return packed.replace(size, (5_000).to_bytes(4, "little"))


def _unpacked_size(packed: bytes, name: str) -> int:
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        return archive.getinfo(name).file_size


def checksum(data: bytes) -> int:
    """A number for the content, to name a file by in a message."""
    return zlib.crc32(data)
