"""An invented firm of any size as a canonical folder: a hundred readings a door, fifteen deviations, three faults.

Everything here is invented. The doors are drawn with numpy; the readings are written by one DuckDB query, in the order
in which a firm would have them (door after door) or shuffled.
"""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import duckdb
import numpy as np
import polars as pl

AS_OF = date(2025, 6, 30)
DAYS = 912  # from the first fitting to AS_OF
READINGS_A_DOOR = 100  # exactly, over each twenty doors
# The record sheets of twenty doors, which all doors repeat: numbers of leaves, and of fixings on each member.
LEAVES = (3, 4, 5, 4) * 5
FIXINGS = {
    "left_jamb": (5, 3, 4, 7, 6, 5, 4, 6, 3, 7, 6, 5, 7, 3, 4, 4, 7, 6, 5, 3),
    "right_jamb": (4, 6, 5, 3, 7, 7, 5, 3, 4, 6, 3, 4, 5, 6, 7, 6, 3, 7, 4, 5),
    "head": (8, 9, 7, 6, 10, 6, 8, 9, 10, 7, 7, 10, 6, 9, 8, 9, 8, 7, 6, 10),
}
N_CREWS = 24
FAULTS = ("dropped_leaf", "stiff_running", "water_ingress")
DEVIATIONS = (
    "sill_level_error", "sill_bow", "sill_chord_bow", "frame_diagonal_difference", "frame_racking", "jamb_plumb_error",
    "jamb_lean_out", "jamb_twist", "head_parallel_error", "head_bow", "fixing_spacing", "fixing_corner_distance",
    "fixing_shortfall", "head_gap_spread", "leaf_diagonal_difference",
)  # fmt: skip

# What is wrong with a door, in mm: its readings are made from these, and its callbacks follow from them.
WRONGS = {
    "sill_slope": 1.6, "sill_dip": 1.0, "square": 2.0, "face_left": 1.6, "face_right": 1.6, "edge_left": 1.4,
    "edge_right": 1.4, "head_slope": 1.3, "head_dip": 0.9, "gap": 0.7, "leaf_square": 1.2,
}  # fmt: skip
# Log hazard per standard deviation of the size of each wrong.
EFFECTS = {
    "dropped_leaf": {"leaf_square": 0.5, "edge_left": 0.3, "sill_slope": 0.15},
    "stiff_running": {"sill_slope": 0.4, "head_dip": 0.35, "sill_dip": 0.25, "gap": 0.2},
    "water_ingress": {"sill_dip": 0.3, "face_left": 0.35, "square": 0.25},
}
WORDS = {
    "product": ("range A", "range B", "range C", "range D"),
    "material": ("aluminium", "timber", "pvc-u"),
    "colour": ("light", "dark"),
    "storey": ("ground", "first", "upper"),
    "exposure": ("sheltered", "moderate", "severe"),
    "substrate": ("brick", "block", "timber frame", "steel"),
    "work": ("new", "replacement"),
}


@dataclass(frozen=True)
class Reading:
    """One line of a door's record sheet: value = the lengths and the wrongs times their weights, and noise.

    along   the side that `part` (0 to 1) is a part of: width, height or nothing
    length  weights of width, height and diagonal, and a constant, mm
    """

    measure: str
    member: str
    station: str
    kind: str
    noise: float
    along: str = ""
    part: float = 0.0
    length: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    wrongs: tuple[tuple[str, float], ...] = ()


def write_firm(folder: Path, doors: int, seed: int = 1, shuffled: bool = False) -> int:
    """Writes the records and fitback.toml into `folder` (made if missing); gives the number of readings.

    doors  a multiple of 20
    """
    if doors % len(LEAVES):
        raise ValueError(f"{doors} doors; a multiple of {len(LEAVES)} is needed")
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(seed)
    installs, wrong = _doors(doors, rng)
    installs.write_csv(folder / "installs.csv")
    _callbacks(installs, wrong, rng).write_csv(folder / "callbacks.csv")
    _crews().write_csv(folder / "crews.csv")
    _instruments().write_csv(folder / "instruments.csv")
    settings = f'firm = "Invented firm (benchmark)"\ncurrency = "GBP"\nas_of = {AS_OF}\nlabour_rate = 55.0\n'
    (folder / "fitback.toml").write_text(settings, encoding="utf-8")
    _write_readings(folder / "readings.csv", installs, wrong, shuffled)
    return doors * READINGS_A_DOOR


def record_sheet(door: int) -> list[Reading]:
    """The readings taken of a door, in order; door: its number among its twenty."""
    fixings = {member: numbers[door] for member, numbers in FIXINGS.items()}
    return [*_sill(), *_frame(), *_fixings(fixings), *_leaves(LEAVES[door])]


def _sill() -> list[Reading]:
    parts = np.linspace(0, 1, 17)
    weights = [(("sill_slope", t), ("sill_dip", _dip(t))) for t in parts]
    base = (0, 0, 0, 20)
    return [
        Reading("sill_height", "sill", "", "level", 0.3, "width", t, base, w)
        for t, w in zip(parts, weights, strict=True)
    ]


def _frame() -> list[Reading]:
    diagonals = [
        Reading("frame_diagonal", "", name, "tape", 0.5, length=(0, 0, 1, 0), wrongs=(("square", sign),))
        for name, sign in (("rising", 0.5), ("falling", -0.5))
    ]
    jambs = [
        Reading(f"jamb_{plane}", f"{side}_jamb", "", "level", 0.4, "height", t, wrongs=((f"{plane}_{side}", t),))
        for plane in ("face", "edge")
        for side in ("left", "right")
        for t in np.linspace(0, 1, 8)
    ]
    head = []
    for t in np.linspace(0, 1, 15):
        weights = (("head_slope", t), ("head_dip", _dip(t)))
        head.append(Reading("clear_height", "head", "", "tape", 0.4, "width", t, (0, 1, 0, -45), weights))
    return [*diagonals, *jambs, *head]


def _fixings(numbers: dict[str, int]) -> list[Reading]:
    rows = []
    for member, n in numbers.items():
        for number, t in enumerate(np.linspace(0, 1, n), start=1):
            along_width = member == "head"
            # the first and last stand 190 mm from the ends
            length = (t if along_width else 0.0, 0.0 if along_width else t, 0.0, 190 * (1 - 2 * t))
            rows.append(Reading("fixing", member, str(number), "tape", 25.0, length=length))
    return rows


def _leaves(leaves: int) -> list[Reading]:
    rows = []
    for number in range(1, leaves + 1):
        for place, sign in (("hinge", 0.5), ("lock", -0.5)):
            weights = (("gap", sign * (-1) ** number),)
            rows.append(Reading("head_gap", f"leaf_{number}", place, "gauge", 0.2, length=(0, 0, 0, 6), wrongs=weights))
    for number in range(1, leaves + 1):
        for place, sign in (("rising", 0.5), ("falling", -0.5)):
            weights = (("leaf_square", sign),)
            length = (0.0, 1.05, 0.0, 0.0)
            rows.append(Reading("leaf_diagonal", f"leaf_{number}", place, "tape", 0.5, length=length, wrongs=weights))
    return rows


def _dip(part: float) -> float:
    return 4 * part * (1 - part)


def _doors(n: int, rng: np.random.Generator) -> tuple[pl.DataFrame, dict[str, np.ndarray]]:
    number = np.arange(1, n + 1)
    crew = rng.integers(0, N_CREWS, n)
    careless = np.exp(rng.normal(0, 0.25, (N_CREWS, len(WRONGS))))
    wrong = {name: spread * careless[crew, k] * rng.normal(size=n) for k, (name, spread) in enumerate(WRONGS.items())}
    leaves = np.resize(LEAVES, n)
    words = {name: rng.choice(values, n) for name, values in WORDS.items()}
    first_day = np.datetime64(AS_OF, "D") - DAYS
    fitted = first_day + np.sort(rng.integers(0, DAYS - 30, n))
    frame = {
        "install_id": np.char.add("D", np.char.zfill(number.astype(str), 6)),
        "job_no": np.char.add("J", np.char.zfill((number + 50_000).astype(str), 6)),
        "crew": np.char.add("crew ", np.char.zfill((crew + 1).astype(str), 2)),
        **{name: words[name] for name in ("product", "material", "colour")},
        "leaves": leaves,
        "width_mm": leaves * 900 + rng.integers(-20, 20, n) * 10,
        "height_mm": 2100 + rng.integers(-10, 10, n) * 10,
        "glass_mm": rng.choice([28.0, 36.0], n),
        "leaf_weight_kg": np.round(rng.normal(62, 8, n), 1),
        **{name: words[name] for name in ("storey", "exposure")},
        "orientation": rng.choice(["N", "E", "S", "W"], n),
        **{name: words[name] for name in ("substrate", "work")},
        "surveyed_on": fitted - 30,
        "fitted_on": fitted,
        "handed_over_on": fitted + rng.integers(0, 6, n),
        "removed_on": np.full(n, np.datetime64("NaT"), "datetime64[D]"),
        "customer": np.char.add("Invented customer ", number.astype(str)),
        "address": np.char.add(number.astype(str), " Made-up Street"),
        "postcode": np.char.add("ZZ", number.astype(str)),
    }
    return pl.DataFrame(frame), wrong


def _callbacks(installs: pl.DataFrame, wrong: dict[str, np.ndarray], rng: np.random.Generator) -> pl.DataFrame:
    """First callbacks of each fault by Weibull times, earlier ones likelier; one in ten has a second visit."""
    size = {name: np.abs(values) / np.std(values) for name, values in wrong.items()}
    rows = []
    for fault, effects in EFFECTS.items():
        log_ratio = sum(effect * size[name] for name, effect in effects.items())
        years = (rng.exponential(size=installs.height) / (0.05 * np.exp(log_ratio))) ** (1 / 0.8)
        days = np.minimum(years * 365.25, 10 * DAYS).astype(int) + 1
        first = installs.select("install_id", "job_no", "customer", "address", "postcode", "handed_over_on")
        first = first.with_columns(
            pl.lit(fault).alias("fault"),
            (pl.col("handed_over_on") + pl.duration(days=pl.Series(days))).alias("reported_on"),
        )
        first = first.filter(pl.col("reported_on") < AS_OF - np.timedelta64(20, "D").astype(object))
        again = first.gather_every(10).with_columns(pl.col("reported_on") + pl.duration(days=9))
        rows += [first, again]
    calls = pl.concat(rows).sort("reported_on", "install_id", "fault")
    n = calls.height
    return calls.select(
        pl.format("C{}", pl.int_range(1, n + 1).cast(pl.String).str.zfill(6)).alias("callback_id"),
        "install_id", "job_no", "customer", "address", "postcode", "reported_on",
        (pl.col("reported_on") + pl.duration(days=2)).alias("logged_on"),
        (pl.col("reported_on") + pl.duration(days=8)).alias("visited_on"),
        "fault",
        pl.lit("invented note of what was found").alias("note"),
        pl.Series("responsibility", rng.choice(["installation", "unknown", "product"], n, p=[0.8, 0.15, 0.05])),
        pl.Series("hours", rng.choice([0.5, 1.0, 1.5, 2.0], n)),
        pl.lit(None).alias("cost"),
    )  # fmt: skip


def _crews() -> pl.DataFrame:
    return pl.DataFrame({"crew": [f"crew {k:02d}" for k in range(1, N_CREWS + 1)], "joined_on": None, "left_on": None})


def _instruments() -> pl.DataFrame:
    errors = {"level": 0.5, "tape": 1.0, "gauge": 0.2}
    rows = [(f"{kind} {k:02d}", kind, error) for k in range(1, N_CREWS + 1) for kind, error in errors.items()]
    frame = pl.DataFrame(rows, schema=["instrument", "kind", "max_error"], orient="row")
    return frame.with_columns(pl.lit("mm").alias("unit"), pl.lit(date(2022, 12, 1)).alias("checked_on"))


def _sheets() -> pl.DataFrame:
    """The record sheets of twenty doors after one another: the pattern that all readings repeat."""
    rows = []
    for offset in range(len(LEAVES)):
        for reading in record_sheet(offset):
            width, height, diagonal, constant = reading.length
            weights = {f"w_{name}": 0.0 for name in WRONGS} | {f"w_{name}": float(w) for name, w in reading.wrongs}
            rows.append({
                "offset": offset, "measure": reading.measure, "member": reading.member or None,
                "station": reading.station or None, "kind": reading.kind, "noise": reading.noise,
                "along": reading.along, "part": float(reading.part), "by_width": float(width),
                "by_height": float(height), "by_diagonal": float(diagonal), "constant": float(constant), **weights,
            })  # fmt: skip
    return pl.DataFrame(rows).with_row_index("line")


def _write_readings(path: Path, installs: pl.DataFrame, wrong: dict[str, np.ndarray], shuffled: bool) -> None:
    doors = installs.select("install_id", "crew", "width_mm", "height_mm", "fitted_on").with_row_index("door")
    doors = doors.with_columns(**{name: pl.Series(values) for name, values in wrong.items()})
    weighted = " + ".join(f"w_{name} * {name}" for name in WRONGS)
    sheets = _sheets()
    query = f"""
        WITH lines AS (SELECT i, i // {sheets.height} * {len(LEAVES)} AS block, i % {sheets.height} AS line
                       FROM range({installs.height * READINGS_A_DOOR}) AS numbers(i))
        SELECT install_id, measure, member, station,
               CASE along WHEN 'width' THEN round(part * width_mm) WHEN 'height' THEN round(part * height_mm) END
                   AS position_mm,
               round(constant + by_width * width_mm + by_height * height_mm
                     + by_diagonal * sqrt(width_mm ** 2 + height_mm ** 2) + {weighted}
                     + noise * sqrt(-2 * ln(chance(2 * i))) * cos(2 * pi() * chance(2 * i + 1)), 1) AS "value",
               'mm' AS unit, kind || right(crew, 3) AS instrument,
               fitted_on AS read_on, 'fitter' || right(crew, 3) AS read_by
        FROM lines JOIN sheets ON sheets.line = lines.line JOIN doors ON doors.door = lines.block + sheets.offset
        {"ORDER BY hash(i)" if shuffled else ""}"""
    with duckdb.connect() as connection:
        connection.execute("SET enable_progress_bar = false")
        connection.execute("CREATE MACRO chance(k) AS (hash(k) % 1000000007 + 0.5) / 1000000007")
        connection.register("sheets", sheets)
        connection.register("doors", doors)
        connection.execute(f"COPY ({query}) TO '{path}' (HEADER, DELIMITER ',')")
