"""Why a file that bears the ending of a workbook is none, told by its first bytes."""

from pathlib import Path

# From memory: a compound file begins so (MS-CFB 2.2), and a workbook under a password is one that holds this stream
# (MS-OFFCRYPTO 2.3.4).
_COMPOUND, _LOCKED = bytes.fromhex("D0CF11E0A1B11AE1"), "EncryptedPackage".encode("utf-16-le")
_LOOKED_AT = 1 << 26
_LOCKED_SAYS = "the workbook is locked by a password; save it without one"
_OLD_SAYS = "this is a workbook of the old form; open it and save it as .xlsx"
_WEB_SAYS = "this is a web page under the name of a workbook; open it in a spreadsheet program and save it as .xlsx"
_TEXT_SAYS = "this is not a workbook but text; if it is a table, give it the ending .csv"
DAMAGED = "this is not a workbook, or a damaged one; open it, have it repaired, and save it again as .xlsx"
NOT_A_WORKBOOK = "this is not a workbook; save it again as .xlsx"


def why_no_workbook(path: Path) -> str:
    """What the file is in place of a workbook, and what to do. Raises OSError where it cannot be opened."""
    with path.open("rb") as file:
        head = file.read(_LOOKED_AT)
    if not head.strip(b"\0\t\r\n "):
        return "the file is empty; save it again as .xlsx, or fetch it anew where it was copied from"
    if head.startswith(_COMPOUND):
        return _LOCKED_SAYS if _LOCKED in head else _OLD_SAYS
    if head.startswith(b"PK"):
        return DAMAGED
    start = head[:4096]
    if start.lstrip(b"\xef\xbb\xbf\t\r\n ")[:1] == b"<":
        return _WEB_SAYS
    is_text = not any(byte < 32 and byte not in b"\t\n\r\x0c\x1a" for byte in start)
    return _TEXT_SAYS if is_text and any(mark in start for mark in b",;\t\n") else NOT_A_WORKBOOK
