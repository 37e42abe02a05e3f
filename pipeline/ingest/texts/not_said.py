"""Texts that stand for an empty cell: what programs write there, and what people do."""

# Written by programs, in this case only; nobody means anything else by them.
OF_PROGRAMS = ("NULL", "null", "(null)", "NaN", "nan", "<NA>", "#N/A", "\\N")
# Written by people where there is nothing to say, in small letters. Of a check `n/a` is an answer.
NOTHING = frozenset({"-", "--", "---", "\u2013", "\u2014", "n/a", "na", "?", "??"})
# With what says so in words, which in a sheet that is not understood yet may be an answer: none responsible.
OF_PEOPLE = NOTHING | {"n.a.", "none", "nil", "???", "tbc", "tba", "unknown", "not known", "not recorded"}


def says_nothing(text: str) -> bool:
    """Whether a person wrote it in place of a number or a name.

    >>> says_nothing("N/A"), says_nothing("-"), says_nothing("J-12")
    (True, True, False)
    """
    return " ".join(text.split()).casefold() in OF_PEOPLE
