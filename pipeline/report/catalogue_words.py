"""SQL of the plain words of the catalogue's rows. A name of the firm's own may come without: then it is read out."""

WORDS = "coalesce(nullif({table}.words, ''), replace({name}, '_', ' '))"
# of the catalogue_deviations row joined as `deviation`
DEVIATION_WORDS = WORDS.format(table="deviation", name="deviation.name")


def fault_words(name: str) -> str:
    """Of the catalogue_faults row joined as `fault_kind`, which may be missing. name: the column with the fault."""
    return WORDS.format(table="fault_kind", name=name)
