"""The seven canonical records: their columns, what each cell may hold, and what makes two rows the same."""

from dataclasses import dataclass

TEXT, PLACE, WORD, WORDS = "text", "place", "word", "words"
NUMBER, WHOLE, DAY, UNIT = "number", "whole", "day", "unit"

_SQL_TYPES = {NUMBER: "DOUBLE", WHOLE: "INTEGER", DAY: "DATE"}


@dataclass(frozen=True)
class Column:
    """One column of a record. list_name: the closed list of a word; low, high: what is plausible, both included.

    is_personal  kept in people.duckdb only
    """

    name: str
    kind: str = TEXT
    is_required: bool = False
    list_name: str = ""
    low: float | None = None
    high: float | None = None
    is_personal: bool = False

    @property
    def sql_type(self) -> str:
        """The column's type in records.duckdb."""
        return _SQL_TYPES.get(self.kind, "TEXT")


@dataclass(frozen=True)
class Record:
    """A record read. key: the columns under which two different rows contradict each other.

    own_place: SQL over a row `r` that further tells rows of one key apart; None where the key says all.
    """

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    own_place: str | None = None

    @property
    def key_terms(self) -> tuple[str, ...]:
        """SQL terms over a row `r` that are equal for rows of one key."""
        terms = tuple(f'r."{name}"' for name in self.key)
        return (*terms, self.own_place) if self.own_place else terms

    @property
    def kept(self) -> tuple[Column, ...]:
        """The columns of records.duckdb: all but the personal ones."""
        return tuple(column for column in self.columns if not column.is_personal)

    @property
    def personal(self) -> tuple[Column, ...]:
        """The columns of people.duckdb."""
        return tuple(column for column in self.columns if column.is_personal)

    @property
    def required(self) -> tuple[str, ...]:
        """Names of the columns that a file must have."""
        return tuple(column.name for column in self.columns if column.is_required)

    def column(self, name: str) -> Column:
        """The column of that name. Raises KeyError where there is none."""
        return {column.name: column for column in self.columns}[name]


def _text(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name) for name in names)


def _days(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, DAY) for name in names)


def _personal(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, is_personal=True) for name in names)


INSTALLS = Record(
    "installs",
    (
        Column("install_id", is_required=True),
        Column("job_no"),
        Column("crew", is_required=True),
        *_text("product", "material"),
        Column("colour", WORD, list_name="colours"),
        Column("leaves", WHOLE, low=1, high=20),
        Column("width_mm", NUMBER, low=200, high=30_000),
        Column("height_mm", NUMBER, low=200, high=10_000),
        Column("glass_mm", NUMBER, low=1, high=300),
        Column("leaf_weight_kg", NUMBER, low=1, high=1_500),
        *_text("storey", "exposure", "orientation", "substrate"),
        Column("work", WORD, list_name="works"),
        Column("surveyed_on", DAY),
        Column("fitted_on", DAY, is_required=True),
        *_days("handed_over_on", "removed_on"),
        *_personal("customer", "address", "postcode"),
    ),
    key=("install_id",),
)

# Columns by which rows of other records are found again.
NUMBERS_OF = ("install_id", "job_no", "callback_id")
# Measures taken at several places of one member. Written without station or position, a value is a place of its own:
# three widths of an opening, or the fixings of a jamb, do not contradict one another.
SEVERAL_PLACES = (
    "fixing", "packer", "aperture_width", "aperture_height", "frame_width", "frame_height", "clear_height",
    "sill_tilt", "perimeter_gap", "hinge_packers", "seal_compression",
)  # fmt: skip

# The written_unit of a reading that says ok and no number.
WITHIN = "ok"

READINGS = Record(
    "readings",
    (
        Column("install_id", is_required=True),
        Column("measure", WORD, is_required=True, list_name="measures"),
        Column("member", PLACE),
        Column("station", PLACE),
        Column("position_mm", NUMBER, low=-30_000, high=30_000),
        Column("value", NUMBER, is_required=True),
        Column("unit", UNIT, is_required=True),
        Column("instrument"),
        Column("read_on", DAY),
        Column("read_by"),
    ),
    key=("install_id", "measure", "member", "station", "position_mm", "instrument", "read_on", "read_by"),
    # what only says ok neither repeats nor contradicts the number of its place
    own_place=(
        f"CASE WHEN r.written_unit = '{WITHIN}' THEN '{WITHIN}' WHEN r.station IS NULL AND r.position_mm IS NULL "
        f'AND r.measure IN {SEVERAL_PLACES} THEN r."value"::TEXT END'
    ),
)

CHECKS = Record(
    "checks",
    (
        Column("install_id", is_required=True),
        Column("check", WORD, is_required=True, list_name="checks"),
        Column("member", PLACE),
        Column("outcome", WORD, is_required=True, list_name="outcomes"),
        Column("checked_on", DAY),
    ),
    key=("install_id", "check", "member", "checked_on"),
)

CALLBACKS = Record(
    "callbacks",
    (
        Column("callback_id", is_required=True),
        *_text("install_id", "job_no"),
        *_personal("customer", "address", "postcode"),
        Column("reported_on", DAY, is_required=True),
        *_days("logged_on", "visited_on"),
        Column("fault", WORDS, list_name="faults"),
        *_personal("note"),
        Column("responsibility", WORD, list_name="responsibilities"),
        Column("hours", NUMBER, low=0, high=10_000),
        Column("cost", NUMBER, low=0),
    ),
    key=("callback_id",),
)

# The number or code by which other tables name a crew.
CREW_NO = "crew_no"
CREWS = Record(
    "crews", (Column("crew", is_required=True), Column(CREW_NO), *_days("joined_on", "left_on")), key=("crew",)
)

TRAINING = Record(
    "training",
    (
        Column("crew", is_required=True),
        Column("step", WORD, is_required=True, list_name="steps"),
        Column("trained_on", DAY, is_required=True),
        Column("hours", NUMBER, low=0, high=10_000),
    ),
    key=("crew", "step", "trained_on"),
)

INSTRUMENTS = Record(
    "instruments",
    (
        Column("instrument", is_required=True),
        Column("kind"),
        Column("max_error", NUMBER, low=0),
        Column("unit", UNIT),
        Column("checked_on", DAY),
    ),
    key=("instrument",),
)

# In the order in which they are judged: what others hang on comes first.
RECORDS = (CREWS, INSTRUMENTS, INSTALLS, CALLBACKS, TRAINING, CHECKS, READINGS)

# Whose rows count only with a door or a crew that is known; a callback is one even without.
HANGS_ON_DOOR = (CHECKS, READINGS)
HANGS_ON_CREW = (INSTALLS, TRAINING)
NAMES_DOOR = (*HANGS_ON_DOOR, CALLBACKS)
# Columns of installs whose words a firm chooses.
OPEN_WORDS = ("product", "material", "storey", "exposure", "orientation", "substrate")
# Columns in which one thing may be written in several ways, and the records in which it is read as one.
SPELT: dict[str, tuple[Record, ...]] = {
    INSTALLS.key[0]: NAMES_DOOR,
    CREWS.key[0]: HANGS_ON_CREW,
    **dict.fromkeys(OPEN_WORDS, (INSTALLS,)),
}


def record_named(name: str) -> Record:
    """The record of that name. Raises KeyError where there is none."""
    return {record.name: record for record in RECORDS}[name]
