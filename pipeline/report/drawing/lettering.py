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


def wrapped(text: str | None, pixels: float, most: int | None = 2) -> list[str]:
    """The text in as many lines as it takes, `most` of them at most or (None) all: broken between words, cut with ….

    >>> wrapped("sill not supported along its full length", 200)
    ['sill not supported along its', 'full length']
    """
    first, *others = as_name(text).split(" ")
    lines = [first]
    for word in others:
        longer = f"{lines[-1]} {word}"
        if width(longer) <= pixels:
            lines[-1] = longer
        else:
            lines.append(word)
    if most is not None and len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return [fitted(line, pixels) for line in lines]


def without_common_word(names: list[str]) -> list[str]:
    """The names without the first word that all of them share, where a word is left of each.

    >>> without_common_word(["Crew Ash", "Crew Fir"])
    ['Ash', 'Fir']
    """
    split = [name.split(maxsplit=1) for name in names]
    is_shared = len({words[0] for words in split if words}) == 1 and all(len(words) == 2 for words in split)
    return [words[1] for words in split] if is_shared and len(names) > 1 else names
