"""The Fellegi-Sunter model of a callback and its own door: what is compared, and how often each level occurs.

m, how often a callback agrees with its own door, is fixed: a firm has too few callbacks without a door to learn it
from, and those keyed with care are no sample of the others. No published source: judged for paper written by people
in a hurry, and tried on simulated damage (tests/ingest/linking). u comes from the firm's doors (`chances.py`).
Place is one comparison, not three, because postcode, street and house number agree together by chance.
"""

from typing import TYPE_CHECKING, Any

from pipeline.ingest.linking.chances import Chances, place_chances

if TYPE_CHECKING:
    from splink import SettingsCreator

# (sql, m) from the best agreement to the least; the last level is the rest
Level = tuple[str, float]

_STREET = "jaro_winkler_similarity(street_l, street_r) >= 0.88"
_HOUSE = "house_l = house_r AND coalesce(flat_l, flat_r, '') = coalesce(flat_r, flat_l, '')"
_POSTCODE = "postcode_l = postcode_r"
_POSTCODE_NEAR = (
    "(postcode_l IS NULL OR postcode_r IS NULL OR outward_l = outward_r "
    "OR damerau_levenshtein(postcode_l, postcode_r) <= 2)"
)
_PLACE: list[Level] = [
    (f"{_POSTCODE} AND {_HOUSE} AND {_STREET}", 0.58),
    (f"{_HOUSE} AND {_STREET} AND {_POSTCODE_NEAR}", 0.19),
    (f"{_POSTCODE} AND {_HOUSE}", 0.03),
    (f"{_POSTCODE} AND {_STREET}", 0.09),
    (f"{_POSTCODE} AND (street_l IS NULL OR street_r IS NULL)", 0.05),
    (f"{_HOUSE} AND {_STREET}", 0.02),
    (f"{_STREET} AND {_POSTCODE_NEAR} OR {_POSTCODE}", 0.02),
    ("outward_l = outward_r", 0.01),
    ("", 0.01),
]
_SAME_ORDER = (
    "jaro_winkler_similarity(surname_l, surname_r) >= 0.92 "
    "OR (length(surname_l) >= 5 AND damerau_levenshtein(surname_l, surname_r) <= 1)"
)
_SURNAME_NEAR = f"{_SAME_ORDER} OR whole_l = whole_r"
_NO_PLACE = "(coalesce(postcode_l, street_l) IS NULL OR coalesce(postcode_r, street_r) IS NULL)"
_JOB_NEAR = (
    "least(length(job_key_l), length(job_key_r)) >= 4 AND (damerau_levenshtein(job_key_l, job_key_r) <= 1 "
    "OR contains(job_key_l, job_key_r) OR contains(job_key_r, job_key_l))"
)
_DAYS = "date_diff('day', coalesce(started_on_l, started_on_r), coalesce(reported_on_l, reported_on_r))"
# days from the door's start, upper bounds, and m of each stretch: before it, shortly before, two years, five, later
DAY_BOUNDS = (-90, -7, 731, 1827)
_DAY_MATCHES = (0.003, 0.012, 0.62, 0.27, 0.095)
_REMOVED = "coalesce(reported_on_l, reported_on_r) > coalesce(removed_on_l, removed_on_r) + 60"
_NULL_DAYS = "coalesce(started_on_l, started_on_r) IS NULL OR coalesce(reported_on_l, reported_on_r) IS NULL"


def settings_of(chances: Chances, day_shares: list[float], prior: float) -> "SettingsCreator":
    """The model as splink settings. prior: chance that a door drawn at random is the callback's own."""
    from splink import SettingsCreator, block_on

    rules = (
        ("job_key",), ("postcode",), ("surname", "outward"), ("house", "substr(street, 1, 2)"), ("house", "outward"),
        ("surname", "house"), ("surname", "street"), ("surname", "initial"), ("substr(surname, 1, 2)", "street"),
    )  # fmt: skip
    return SettingsCreator(
        link_type="link_only",
        comparisons=[_place(chances), _surname(chances), _initial(), _job(chances), _days(day_shares),
                     _removal(), _leaves(chances), _width()],
        blocking_rules_to_generate_predictions=[block_on(*rule) for rule in rules],
        probability_two_random_records_match=prior,
        retain_matching_columns=True,
        additional_columns_to_retain=["site"],
        linker_uid="linking",
    )  # fmt: skip


def _place(chances: Chances) -> Any:
    levels = [(sql, m, u) for (sql, m), u in zip(_PLACE, place_chances(chances), strict=True)]
    return _comparison("place", _NO_PLACE, levels)


def _surname(chances: Chances) -> Any:
    u = chances.surname
    near = min(max(2 * u, 0.004), 0.2, (1 - u) / 2)  # where all doors bear one name little else is left
    levels = [("surname_l = surname_r", 0.8, u), (_SURNAME_NEAR, 0.1, near), ("", 0.1, 1 - u - near)]
    return _comparison("surname", "surname_l IS NULL OR surname_r IS NULL", levels, frequency_of="surname")


def _initial() -> Any:
    levels = [("initial_l = initial_r", 0.93, 0.09), ("", 0.07, 0.91)]
    # another person of the house has another initial as well: said once, by the surname
    # and first and last name exchanged have the initials of one another
    unknown = f"initial_l IS NULL OR initial_r IS NULL OR NOT coalesce({_SAME_ORDER}, false)"
    return _comparison("initial", unknown, levels)


def _job(chances: Chances) -> Any:
    u, near = chances.job, chances.near_job
    levels = [("job_key_l = job_key_r", 0.72, u), (_JOB_NEAR, 0.12, near), ("", 0.16, 1 - u - near)]
    return _comparison("job", "job_key_l IS NULL OR job_key_r IS NULL", levels)


def _days(shares: list[float]) -> Any:
    conditions = [*(f"{_DAYS} < {bound}" for bound in DAY_BOUNDS), ""]
    return _comparison("days", _NULL_DAYS, list(zip(conditions, _DAY_MATCHES, shares, strict=True)))


def _removal() -> Any:
    levels = [(_REMOVED, 0.01, 0.4), ("", 0.99, 0.6)]
    return _comparison("removal", "coalesce(removed_on_l, removed_on_r) IS NULL", levels)


def _leaves(chances: Chances) -> Any:
    levels = [("leaves_l = leaves_r", 0.92, chances.leaves), ("", 0.08, 1 - chances.leaves)]
    return _comparison("leaves", "leaves_l IS NULL OR leaves_r IS NULL", levels)


def _width() -> Any:
    levels = [("abs(width_mm_l - width_mm_r) <= 60", 0.92, 0.06), ("", 0.08, 0.94)]
    return _comparison("width", "width_mm_l IS NULL OR width_mm_r IS NULL", levels)


def _comparison(name: str, unknown: str, levels: list[tuple[str, float, float]], frequency_of: str = "") -> Any:
    """A splink comparison. frequency_of: the column whose rare values weigh more at the first level."""
    import splink.comparison_level_library as level_library
    from splink.comparison_library import CustomComparison

    made: list[Any] = [level_library.CustomLevel(unknown).configure(is_null_level=True)]
    for place, (sql, m, u) in enumerate(levels):
        level = level_library.CustomLevel(sql) if sql else level_library.ElseLevel()
        level.configure(m_probability=m, u_probability=u)
        if frequency_of and not place:
            level.configure(tf_adjustment_column=frequency_of, disable_tf_exact_match_detection=True)
        made.append(level)
    return CustomComparison(made, output_column_name=name)
