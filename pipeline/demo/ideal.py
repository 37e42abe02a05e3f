"""placeholder while stats lands."""


def ideal_fit(firm: object) -> None:
    """Not yet."""
    raise NotImplementedError
