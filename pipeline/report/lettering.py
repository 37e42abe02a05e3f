"""How much room words take in a drawing, where no browser can be asked: a guess on the wide side, at 12 pixels."""

from pipeline.report.numbers import as_name

NARROW_SIGNS, WIDE_SIGNS = frozenset("ijltfrI.,:;'|!()[] ·"), frozenset("mwMW@%—…→")
SIGN, NARROW_SIGN, WIDE_SIGN, CAPITAL = 7.6, 4.8, 11.6, 9.2


def width(text: str) -> float:
    """Pixels that the text takes in the widest of the usual system fonts."""
    return sum(_sign_width(sign) for sign in text)


def _sign_width(sign: str) -> float:
    if sign in NARROW_SIGNS:
        return NARROW_SIGN
    if sign in WIDE_SIGNS or ord(sign) > 0x2000:
        return WIDE_SIGN
    return CAPITAL if sign.isupper() else SIGN


def fitted(text: str | None, pixels: float) -> str:
    """The name as one line of visible text, cut with … to what fits; the table holds it in full.

    >>> fitted("sill not supported along its full length", 150)
    'sill not supported al…'
    """
    name = as_name(text)
    if width(name) <= pixels:
        return name
    room, kept = pixels - WIDE_SIGN, ""
    for sign in name:
        room -= _sign_width(sign)
        if room < 0:
            break
        kept += sign
    return f"{kept.rstrip()}…"
