"""Values of [[sheet]] tables: each of the kind that its key wants, or one sentence that names the table and the key."""

from pipeline.errors import UserError, did_you_mean
from pipeline.settings import SETTINGS_FILE


def as_text(where: str, key: str, value: object) -> str:
    """A text; a number is one as well."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise wrong(where, f"{key} must be a text in quotes.")
    return str(value)


def as_texts(where: str, key: str, value: object) -> tuple[str, ...]:
    """A list of texts."""
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise wrong(where, f'{key} must be a list of texts, such as ["Door ref"].')
    return tuple(value)


def as_flag(where: str, key: str, value: object) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise wrong(where, f"{key} must be true or false.")
    return value


def or_keys(word: str, known: list[str]) -> str:
    """What to say of a key that is not known: the nearest, else all that are."""
    return did_you_mean(word, known) or f"; known are {', '.join(known)}."


def wrong(where: str, what: str) -> UserError:
    """The refusal of a table. where: the table and the column."""
    return UserError(f"{SETTINGS_FILE}, {where}: {what}")
