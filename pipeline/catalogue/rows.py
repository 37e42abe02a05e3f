"""The typed rows of the catalogue. Nothing here reads a file."""

from dataclasses import dataclass, field
from datetime import date

from pipeline.catalogue.customs import Customs


@dataclass(frozen=True)
class Unit:
    """A unit as written. canonical value = written x factor + offset, within its dimension."""

    name: str
    dimension: str
    factor: float
    offset: float = 0.0
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True)
class Measure:
    """A reading that can be taken. low, high: plausible bounds in `unit`; None means any finite number.

    extra    dimensions accepted beside the unit's own (slope, turns)
    member   taken where a row leaves it empty
    is_own   declared by the firm: its unit passes unconverted
    """

    name: str
    unit: str
    low: float | None = None
    high: float | None = None
    member: str | None = None
    extra: tuple[str, ...] = ()
    words: str = ""
    is_own: bool = False


@dataclass(frozen=True)
class Check:
    """A thing seen, not measured. role: cause or symptom."""

    name: str
    step: str
    role: str = "cause"
    family: str = ""
    per_leaf: bool = False
    words: str = ""
    do: str = ""


@dataclass(frozen=True)
class Fault:
    """A fault kind of the callbacks."""

    name: str
    words: str = ""
    meaning: str = ""


@dataclass(frozen=True)
class Deviation:
    """One number per door. how "own": made in the SQL file `made_by`; "checks": share failed of the check of its name.

    per    size of the contrast that effects are stated for, in `unit`
    kind   act or geometry: within a step acts come before the geometry they produce
    """

    name: str
    step: str
    how: str
    unit: str
    measure: str | None = None
    made_by: str | None = None
    per: float = 1.0
    worse: str = "higher"
    role: str = "cause"
    family: str = ""
    kind: str = "geometry"
    words: str = ""
    do: str = ""


@dataclass(frozen=True)
class Limit:
    """A dated, sourced limit. high_per_m: per metre of the door's width or height (`along`); the tighter governs.

    starts_on        first fitting date it holds for; None: always
    unless_recorded  holds only where that deviation has no value
    is_own           the firm's own: for its deviation it goes before the built-in ones
    """

    name: str
    deviation: str
    low: float | None = None
    high: float | None = None
    high_per_m: float | None = None
    along: str | None = None
    product: str | None = None
    material: str | None = None
    starts_on: date | None = None
    source: str = ""
    edition: str = ""
    status: str = "in use"
    unless_recorded: str | None = None
    is_own: bool = False


@dataclass(frozen=True)
class Pair:
    """A deviation that the trade expects to cause a fault."""

    deviation: str
    fault: str


@dataclass(frozen=True)
class Gap:
    """Recommended perimeter gap per side, mm, for openings from over_mm (excluded) to up_to_mm (included)."""

    material: str
    colour: str | None
    over_mm: float
    up_to_mm: float
    gap_mm: float


@dataclass(frozen=True)
class NoteWord:
    """What a firm writes in service notes: `says` stands for the words `means`, or is a sign of `fault`."""

    says: str
    means: str | None = None
    fault: str | None = None


@dataclass(frozen=True)
class Expectation:
    """What a table of the records should be like; `expect` and `arguments` are those of the expectation library.

    arguments  its keywords as JSON
    words      what stands after `12 of 400` where it is not so; empty: the name says enough
    """

    name: str
    table: str
    expect: str
    arguments: str = "{}"
    words: str = ""
    is_own: bool = False


@dataclass(frozen=True)
class Catalogue:
    """Everything that is data about the trade, built in and the firm's own. All lists keep their file's order."""

    steps: tuple[str, ...]
    words: dict[str, tuple[str, ...]]
    units: tuple[Unit, ...]
    measures: tuple[Measure, ...]
    checks: tuple[Check, ...]
    faults: tuple[Fault, ...]
    deviations: tuple[Deviation, ...]
    limits: tuple[Limit, ...]
    pairs: tuple[Pair, ...]
    gaps: tuple[Gap, ...] = field(default=())
    note_words: tuple[NoteWord, ...] = field(default=())
    expectations: tuple[Expectation, ...] = field(default=())
    customs: Customs = field(default=Customs())

    def deviation(self, name: str) -> Deviation:
        """The deviation of that name. Raises KeyError where there is none."""
        return {row.name: row for row in self.deviations}[name]

    def fault_words(self) -> dict[str, str]:
        """Fault code to the words that pages use."""
        return {row.name: row.words for row in self.faults}

    def deviation_words(self) -> dict[str, str]:
        """Deviation name to the words that pages use."""
        return {row.name: row.words for row in self.deviations}
