"""One pass over a file's bytes, on every core: its content hash, and for CSV whether its lines can be its rows."""

import hashlib
import os
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from io import BufferedReader
from pathlib import Path

import numpy as np

_BLOCK = 1 << 24
_QUOTE, _NEWLINE, _RETURN = b'"\n\r'


@dataclass(frozen=True)
class FileScan:
    """content_hash: SHA-256 over the SHA-256 of every block. The rest speaks of the bytes as text.

    n_lines       lines, the last one counted whether or not it is ended
    is_utf8       every byte is; has_nul: a zero byte stands in it
    odd_quotes    a quote stands neither at the begin nor at the end of a cell (for comma, semicolon or tab)
    """

    content_hash: str
    n_lines: int
    is_utf8: bool
    has_nul: bool
    odd_quotes: bool


def scan_file(path: Path) -> FileScan:
    """Scans a file block by block; no more than a few blocks are in memory at once."""
    n_threads = min(4, os.cpu_count() or 1)
    parts: list[FileScan] = []
    ahead: deque[Future[FileScan]] = deque()
    with path.open("rb") as file, ThreadPoolExecutor(n_threads) as pool:
        for block in _blocks(file):  # the next block is read while those before it are scanned
            ahead.append(pool.submit(block.scanned))
            if len(ahead) > n_threads:
                parts.append(ahead.popleft().result())
        parts += [part.result() for part in ahead]
    digest = hashlib.sha256("".join(part.content_hash for part in parts).encode())
    return FileScan(
        digest.hexdigest(),
        sum(part.n_lines for part in parts),
        all(part.is_utf8 for part in parts),
        any(part.has_nul for part in parts),
        any(part.odd_quotes for part in parts),
    )


def lines_at(path: Path, rows: list[int]) -> Iterator[tuple[int, str]]:
    """(row, text) of the lines with the given numbers (ascending, the first line is 1), in UTF-8."""
    wanted = iter(rows)
    row = next(wanted, None)
    before = 0
    with path.open("rb") as file:
        for block in _blocks(file):
            if row is None:
                return
            n_lines = block.n_lines
            lines = b"".join(block.pieces).split(b"\n") if row <= before + n_lines else []
            while row is not None and row <= before + n_lines:
                yield row, lines[row - before - 1].removesuffix(b"\r").decode("utf-8-sig" if row == 1 else "utf-8")
                row = next(wanted, None)
            before += n_lines


@dataclass(frozen=True)
class _Block:
    """Bytes that end with a line, in two pieces: joining them would cost as much as reading them."""

    pieces: tuple[bytes, bytes]

    @property
    def n_lines(self) -> int:
        """Lines; the last is counted whether or not it is ended."""
        n_ended = sum(int(np.count_nonzero(np.frombuffer(piece, np.uint8) == _NEWLINE)) for piece in self.pieces)
        return n_ended + (not (self.pieces[1] or self.pieces[0]).endswith(b"\n"))

    def scanned(self) -> FileScan:
        """What the block adds to the scan of its file."""
        digest = hashlib.sha256()
        for piece in self.pieces:
            digest.update(piece)
        return FileScan(
            digest.hexdigest(),
            self.n_lines,
            all(piece.isascii() for piece in self.pieces) or _is_utf8(b"".join(self.pieces)),
            any(b"\0" in piece for piece in self.pieces),
            any(b'"' in piece for piece in self.pieces) and _has_odd_quotes(b"".join(self.pieces)),
        )


def _blocks(file: BufferedReader) -> Iterator[_Block]:
    while block := file.read(_BLOCK):
        yield _Block((block, b"" if block.endswith(b"\n") else file.readline()))


def _is_utf8(block: bytes) -> bool:
    try:
        block.decode()
    except UnicodeDecodeError:
        return False
    return True


def _has_odd_quotes(block: bytes) -> bool:
    """Whether a quote stands inside a cell, where readers of CSV may differ."""
    edges = np.zeros(256, bool)
    edges[[_NEWLINE, _RETURN, *b",;\t"]] = True
    text = np.frombuffer(b"\n" + block + b"\n", np.uint8)
    places = np.flatnonzero(text == _QUOTE)
    return not bool((edges[text[places - 1]] | edges[text[places + 1]]).all())
