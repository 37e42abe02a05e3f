"""A results.duckdb with invented numbers in the columns of the contract, for looking at pages without a run.

The numbers are drawn by hand-set rules from a fixed seed; they only need to look like a firm's. Every table has the
columns that its model's header promises, so a page that reads a column no model makes fails here.
"""

from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.catalogue import load_catalogue
from pipeline.catalogue.tables import catalogue_tables
from tests.report.invented_changes import run_changes
from tests.report.invented_checks import checks
from tests.report.invented_curves import curves
from tests.report.invented_examples import example_doors
from tests.report.invented_explore import explored
from tests.report.invented_intake import intake, recorded_steps
from tests.report.invented_outlook import outlook_tables
from tests.report.invented_parts import effects_by
from tests.report.invented_signals import trainings, warnings
from tests.report.invented_watch import watched
from tests.report.other_ways import blurs, other_ways
from tests.report.samples import ANSWER, out_share

Frames = dict[str, pl.DataFrame]
HOSTILE = (
    '"\'></title><script>window.hacked = 1</script><img src=x onerror="window.hacked=1"> \u202e {{ 7 * 7 }} &lt; =1+1 '
    + "very " * 60
)
PARTS = ("steps_ratio", "steps_low", "steps_high", "rest_ratio", "rest_low", "rest_high")
CREWS = tuple(f"K{number}" for number in range(1, 11))
STRONG = {
    ("toe_and_heel", "dropped_leaf"): (3.1, 19.0),
    ("sill_joint_sealed", "water_ingress"): (2.6, 14.0),
    ("sill_level_error", "stiff_running"): (2.2, 11.0),
}
HINTS = {("frame_diagonal_difference", "lock_misaligned"): (1.6, 6.0), ("track_clean", "stiff_running"): (1.5, 4.0)}
EVENTS = {
    "dropped_leaf": 92, "water_ingress": 84, "stiff_running": 77, "lock_misaligned": 66, "draught": 41, "binding": 33,
    "uneven_gaps": 21, "roller_damage": 7, "noise": 5, "unclear": 14,
}  # fmt: skip


def write_results(path: Path, tables: Frames) -> Path:
    """Writes the tables as a results.duckdb and returns the path."""
    with duckdb.connect(str(path)) as connection:
        for name, frame in tables.items():
            connection.register("frame", frame)
            connection.execute(f'CREATE TABLE "{name}" AS FROM frame')
            connection.unregister("frame")
    return path


def invented_tables() -> Frames:
    """Every table that the pages read."""
    rng = np.random.default_rng(7)
    frames = _invented(rng)
    found = frames["effects"]
    return frames | {
        "effect_sensitivity": other_ways(found),
        "effect_by": effects_by(found),
        "instrument_blur": blurs(found),
        **watched(frames),
    }


def _invented(rng: np.random.Generator) -> Frames:
    return {
        **catalogue_tables(load_catalogue({})),
        "settings": settings(),
        "runs": pl.DataFrame({"run_id": ["2026-07-01T080000-1a2b3c"]}),
        "staged_installs": installs(rng),
        **callbacks(rng),
        "callback_rates": rates(rng),
        "callback_months": months(rng),
        "effects": effects(rng),
        "limit_comparison": limits(rng),
        "weak_steps": weak_steps(rng),
        "crew_outs": crew_outs(rng),
        "recorded_steps": recorded_steps(CREWS),
        **intake(),
        **explored(),
        "example_doors": example_doors(),
        **curves(),
        **outlook_tables(),
        **warnings(),
        "training_effects": trainings(),
        "model_checks": checks(),
        "through_steps": through_steps(),
        "first_causes": first_causes(),
        "run_changes": run_changes(),
    }


def few_tables() -> Frames:
    """Five doors of one crew, no callback, no reading: what a firm has in its first week."""
    empty = {name: frame.clear() for name, frame in invented_tables().items() if not name.startswith("catalogue_")}
    doors = installs(np.random.default_rng(1)).head(5).with_columns(crew=pl.lit("Anna"))
    row = _rate("Anna", 0.4, 0, 1.0) | dict.fromkeys(
        ["expected", "ratio", "ratio_low", "ratio_high", "fair_ratio", "fair_low", "fair_high", *PARTS]
    )
    row |= {"doors": 5, "callbacks_all": 0, "rate_low": 0.0, "rate_high": 922.0, "funnel": "empty", "cost_known": 0}
    crews = pl.DataFrame([row, row | {"crew": "all"}], schema=empty["callback_rates"].schema)
    outs = crew_outs(np.random.default_rng(1)).filter(pl.col("crew") == "K1")
    nothing = outs.with_columns(crew=pl.lit("Anna"), doors=5, doors_recorded=0, doors_out=0)
    account = (
        intake()["intake_account"].head(1).with_columns(rows_read=5, rows_taken_in=5, rows_set_aside=0, rows_repeated=0)
    )
    return (
        invented_tables()
        | empty
        | {
            "settings": settings(None),
            "staged_installs": doors,
            "callback_rates": crews,
            "crew_outs": nothing,
            "recorded_steps": recorded_steps(("Anna",), doors=5, recorded=0),
            "intake_account": account,
            "watch_list": watched(invented_tables() | empty | {"crew_outs": nothing})["watch_list"],
        }
    )


def settings(firm: str | None = "Invented Doors (no such firm)") -> pl.DataFrame:
    """The settings row."""
    row = {"firm": firm, "currency": "EUR", "as_of": date(2026, 6, 30), "callbacks_from": date(2023, 7, 1)}
    row |= {"planned_doors_per_month": 45.0, "warranty_months": 24.0, "log_ends_with_warranty": False}
    return pl.DataFrame([row], schema_overrides={"firm": pl.String})


def installs(rng: np.random.Generator) -> pl.DataFrame:
    """1,512 doors of ten crews."""
    days = rng.integers(0, 1000, 1512)
    return pl.DataFrame(
        {
            "install_id": [f"D{number:05d}" for number in range(1512)],
            "crew": rng.choice(CREWS, 1512),
            "fitted_on": [date.fromordinal(date(2023, 7, 1).toordinal() + int(day)) for day in days],
        }
    )


def callbacks(rng: np.random.Generator) -> Frames:
    """461 callbacks, their links, codes and episodes."""
    ids = [f"C{number:04d}" for number in range(461)]
    responsibility = rng.choice(
        ["installation", "unknown", "product", "use", "wear", "building", "weather", "none"],
        461,
        p=[0.55, 0.13, 0.1, 0.06, 0.06, 0.03, 0.03, 0.04],
    )
    faults = rng.choice(list(EVENTS), 461, p=np.array(list(EVENTS.values())) / sum(EVENTS.values()))
    kinds = rng.choice(["episode", "repeat", "pre_handover", "outside"], 461, p=[0.8, 0.1, 0.06, 0.04])
    hows = rng.choice(["install_id", "job_no", "none"], 461, p=[0.9, 0.07, 0.03])
    coded = np.where(faults == "unclear", "note", "keyed")
    return {
        "link_rates": _link_rates(hows),
        "record_credibility": pl.DataFrame(
            {
                "crew": ["K1", "K1", "K7"],
                "test": ["last_digits", "copied_doors", "copied_doors"],
                "statistic": [0.6, 0.01, 0.2],
                "p_value": [0.001, 0.4, 0.0001],
                "q_value": [0.002, 0.4, 0.0003],
                "doors": [120, 120, 90],
                "verdict": ["rounded", "plausible", "doubtful"],
            }
        ),
        "note_disagreements": pl.DataFrame(
            {
                "callback_id": ids[:3],
                "keyed": ["noise", "draught", "noise"],
                "noted": ["binding"] * 3,
                "confidence": 0.95,
            }
        ),
        "staged_callbacks": pl.DataFrame({"callback_id": ids, "responsibility": responsibility}),
        "linked_callbacks": pl.DataFrame({"callback_id": ids, "how": hows}),
        "coded_callbacks": pl.DataFrame({"callback_id": ids, "fault": faults, "how": coded}),
        "episodes": pl.DataFrame({"callback_id": ids, "fault": faults, "kind": kinds}).filter(
            pl.Series(hows != "none")
        ),
    }


def _link_rates(hows: np.ndarray) -> pl.DataFrame:
    """Links of the whole firm and of one crew whose paper is worse."""
    found = {how: int((hows == how).sum()) for how in ("install_id", "job_no", "none")}
    whole = {"callbacks": len(hows), "by_install_id": found["install_id"], "by_job_no": found["job_no"], "matched": 0,
             "held_at_house": 2, "doubtful": 3, "unlinked": found["none"] - 5}  # fmt: skip
    part = {"callbacks": 40, "by_install_id": 30, "by_job_no": 2, "matched": 1, "held_at_house": 2, "doubtful": 3,
            "unlinked": 2}  # fmt: skip
    rows = [{"crew": "all", **whole}, {"crew": "K7", **part}]
    return pl.DataFrame(rows).with_columns(
        linked_share=pl.sum_horizontal("by_install_id", "by_job_no", "matched") / pl.col("callbacks")
    )


def rates(rng: np.random.Generator) -> pl.DataFrame:
    """Ten crews from much to little watched; K7 above the firm."""
    years = np.array([620.0, 560, 520, 470, 430, 390, 340, 290, 180, 104])
    counts = np.array([61, 58, 49, 52, 40, 37, 71, 25, 21, 8])
    rows = [_rate(crew, y, n, y * 0.108) for crew, y, n in zip(CREWS, years, counts, strict=True)]
    rows.append(_rate("all", years.sum(), int(counts.sum()), float(counts.sum())))
    nothing = ("fair_ratio", "fair_low", "fair_high", *PARTS, "place_low", "place_high", "direct_rate", "direct_note")
    rows[-1].update(dict.fromkeys(nothing), funnel="inside", doors=1512)
    rows[4].update(direct_rate=None, direct_note="has hardly met doors of the kind exposure: severe")
    return pl.DataFrame(rows, infer_schema_length=None)


def _rate(crew: str, years: float, events: int, expected: float) -> dict[str, Any]:
    rate, error = 100 * events / years, 1.96 / max(events, 1) ** 0.5
    ratio = events / expected
    weight = expected / (expected + 12)
    fair = weight * ratio + 1 - weight
    return {
        "crew": crew, "doors": int(years / 2.6), "door_years": years, "callbacks": events,
        "callbacks_all": int(events * 1.2), "rate": rate, "rate_low": rate * np.exp(-error),
        "rate_high": rate * np.exp(error), "expected": expected, "ratio": ratio, "ratio_low": ratio * np.exp(-error),
        "ratio_high": ratio * np.exp(error), "fair_ratio": fair, "fair_low": fair * np.exp(-error * weight**0.5),
        "fair_high": fair * np.exp(error * weight**0.5), "place_low": 10 if crew == "K7" else 1,
        "steps_ratio": fair**0.7, "steps_low": fair**0.7 * 0.85, "steps_high": fair**0.7 * 1.18,
        "rest_ratio": fair**0.3, "rest_low": fair**0.3 * 0.75, "rest_high": fair**0.3 * 1.3,
        "place_high": 10 if crew == "K7" else 8, "crews_compared": 10, "direct_rate": rate,
        "direct_low": rate * np.exp(-1.1 * error), "direct_high": rate * np.exp(1.1 * error), "direct_note": "",
        "funnel": "above" if crew == "K7" else "inside",
        "cost": events * 1.2 * 231.0, "cost_known": int(events * 1.1),
    }  # fmt: skip


def through_steps() -> pl.DataFrame:
    """Sill and frame of every crew; K7's frame brings more, K1's sill fewer."""
    ratios = {("K7", "frame"): 1.4, ("K1", "sill"): 0.8}
    causes = {"sill": (2, "sill_level_error"), "frame": (3, "head_parallel_error"), "all": (0, None)}
    rows = [
        (crew, step, order, ratio := ratios.get((crew, step), 1.0), ratio * 0.9, ratio * 1.12, 0.05, cause)
        for crew in CREWS
        for step, (order, cause) in causes.items()
    ]
    names = ("crew", "step", "step_order", "ratio", "low", "high", "log_error", "deviation")
    return pl.DataFrame(rows, schema=names, orient="row")


def first_causes() -> pl.DataFrame:
    """Three causes, one of them expected only, and what none explains, of 400 callbacks."""
    parts = {
        "toe_and_heel": ("glazing", "dropped_leaf", 70, 0.15), "track_clean": ("handover", "stiff_running", 44, 0.09),
        "sill_level_error": ("sill", "stiff_running; roller_damage", 40, 0.11),
        "unexplained": (None, "draught", 246, 0.65),
    }  # fmt: skip
    rows = [
        (name, step, faults, 400, first, first / 400, first / 500, first / 330, share, share * 0.8, share * 1.2,
         0.0 if name in ("track_clean", "unexplained") else share, share * 92_000, 380)
        for name, (step, faults, first, share) in parts.items()
    ]  # fmt: skip
    names = (
        "deviation", "step", "faults", "callbacks", "first", "first_share", "first_low", "first_high", "share",
        "share_low", "share_high", "shown", "cost", "cost_known",
    )  # fmt: skip
    return pl.DataFrame(rows, schema=names, orient="row")


def months(rng: np.random.Generator) -> pl.DataFrame:
    """Three years; the last two months are not complete."""
    rows = []
    for index in range(36):
        year, month = 2023 + (index + 6) // 12, (index + 6) % 12 + 1
        years = 3.0 * (index + 1)
        events = int(rng.poisson(0.11 * years * (0.55 if index > 33 else 1)))
        error = 1.96 / max(events, 1) ** 0.5
        rate = 100 * events / years
        low, high = (rate * np.exp(-error), rate * np.exp(error)) if events else (0.0, 369 / years)
        rows.append(
            {
                "month": f"{year}-{month:02d}", "callbacks": events, "callbacks_all": events + 2, "door_years": years,
                "rate": rate, "rate_low": low, "rate_high": high, "cost": 231.0 * events,
                "arrived_share": 1.0 if index < 34 else 0.7, "is_complete": index < 34,
            }
        )  # fmt: skip
    return pl.DataFrame(rows)


def effects(rng: np.random.Generator) -> pl.DataFrame:
    """Every cause and variant against every fault; three strong, two hints, many too few."""
    deviations = load_catalogue({}).deviations
    rows = [
        _effect(deviation, fault, rng)
        for fault in sorted(EVENTS)
        for deviation in deviations
        if deviation.role in ("cause", "variant") and deviation.step != "survey"
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def _effect(deviation: Any, fault: str, rng: np.random.Generator) -> dict[str, Any]:
    pair = (deviation.name, fault)
    known = STRONG.get(pair) or HINTS.get(pair)
    is_rare = deviation.step in ("adjustment", "sealing") and deviation.how != "checks"
    share = 0.12 if is_rare else 0.85
    events = round(EVENTS[fault] * share)
    row: dict[str, Any] = {
        "fault": fault, "deviation": deviation.name, "step": deviation.step, "role": deviation.role,
        "family": deviation.family or deviation.name, "per": deviation.per, "unit": deviation.unit,
        "is_expected": bool(known), "doors": round(1512 * share), "events": events, "recorded_share": share,
        "evidence": "too_few", "note": "too few first callbacks", "doors_needed": round(2000 * share),
    }  # fmt: skip
    row |= dict.fromkeys(ANSWER)
    if not known and (events < 10 or share < 0.2 or rng.random() < 0.55):
        return row
    return row | _answer(deviation, pair, known, rng)


def _answer(deviation: Any, pair: tuple[str, str], known: Any, rng: np.random.Generator) -> dict[str, Any]:
    error = {True: 0.21, False: 0.17}[pair in STRONG] if known else 0.22
    ratio = known[0] if known else float(np.exp(rng.normal(0, 0.12)))
    avoidable = known[1] if known else float(rng.normal(0.5, 1.5))
    spread = 0.22 * avoidable + 1.2 if known else 2.5
    evidence = "strong" if pair in STRONG else "suggestive" if known else "none"
    is_check = deviation.how == "checks"
    numbers = {
        "hazard_ratio": ratio**0.5, "hr_low": ratio**0.5 * np.exp(-error), "hr_high": ratio**0.5 * np.exp(error),
        "between_ratio": ratio**0.4, "contrast_ratio": ratio, "contrast_low": ratio * np.exp(-1.96 * error),
        "contrast_high": ratio * np.exp(1.96 * error), "contrast_from": 0.0 if is_check else 0.8,
        "contrast_to": 1.0 if is_check else 4.2, "p_value": 0.001 if known else 0.4, "q_value": 0.01 if known else 0.8,
        "attributable_share": avoidable / 40, "attributable_low": (avoidable - spread) / 40,
        "attributable_high": (avoidable + spread) / 40, "avoidable_per_year": avoidable,
        "avoidable_low": avoidable - spread, "avoidable_high": avoidable + spread,
        "avoidable_cost_per_year": avoidable * 231.0,
    }  # fmt: skip
    shares = () if deviation.role == "cause" else [name for name in numbers if name.startswith(("attr", "avoid"))]
    return numbers | dict.fromkeys(shares) | {"evidence": evidence, "note": "", "doors_needed": None}


def limits(rng: np.random.Generator) -> pl.DataFrame:
    """Every limit of the catalogue."""
    rows = []
    for limit in load_catalogue({}).limits:
        out = rng.uniform(0.01, 0.3) * (0.3 if "warranty" in limit.name else 1)
        recorded = 0 if limit.deviation == "perimeter_gap_shortfall" else 1290
        n_out, undecided = round(recorded * out), round(recorded * rng.uniform(0, 0.2))
        rows.append(
            {
                "limit": limit.name, "deviation": limit.deviation, "source": limit.source, "edition": limit.edition,
                "status": limit.status, "step": "frame", "doors": 1512, "within": recorded - n_out - undecided,
                "out": n_out, "undecided": undecided, "not_recorded": 1512 - recorded, **out_share(n_out, recorded),
            }
        )  # fmt: skip
    return pl.DataFrame(rows, infer_schema_length=None)


def weak_steps(rng: np.random.Generator) -> pl.DataFrame:
    """Seven of the eight steps; K4 weak at the sill."""
    rows = []
    usual = {
        "sill": 0.14,
        "frame": 0.3,
        "hanging": 0.2,
        "glazing": 0.11,
        "adjustment": 0.07,
        "sealing": 0.05,
        "handover": 0.09,
    }
    for step, share in usual.items():
        for index, crew in enumerate(CREWS):
            doors = 240 - 20 * index
            p = 0.31 if (crew, step) == ("K4", "sill") else share
            rows.append(_weak(crew, step, doors, int(rng.binomial(doors, p)), share))
    return pl.DataFrame(rows, infer_schema_length=None)


def _weak(crew: str, step: str, doors: int, out: int, firm: float) -> dict[str, Any]:
    share, half = out / doors, 1.96 * (out / doors * (1 - out / doors) / doors + 1e-4) ** 0.5
    shrunk = (out + 40 * firm) / (doors + 40)
    return {
        "crew": crew, "step": step, "doors": doors, "doors_out": out, "doors_undecided": 0, "out_share": share,
        "out_low": max(share - half, 0), "out_high": share + half, "firm_out_share": firm,
        "firm_out_low": firm - 0.02, "firm_out_high": firm + 0.02, "shrunk_share": shrunk,
        "shrunk_low": max(shrunk - half * 0.9, 0), "shrunk_high": shrunk + half * 0.9, "avoidable_per_year": None,
        "priority": None, "priority_low": None, "priority_high": None,
    }  # fmt: skip


def crew_outs(rng: np.random.Generator) -> pl.DataFrame:
    """What was out, by crew; nothing recorded at the survey."""
    rows = []
    for crew in CREWS:
        for deviation in load_catalogue({}).deviations:
            is_rare = deviation.step in ("adjustment", "sealing") and deviation.how != "checks"
            recorded = 0 if deviation.step == "survey" else 18 if is_rare else 128
            out = int(rng.binomial(recorded, 0.1))
            rows.append(
                {"crew": crew, "deviation": deviation.name, "step": deviation.step, "doors": 151,
                 "doors_recorded": recorded, "doors_out": out, "doors_undecided": 0, "doors_judged": recorded}
            )  # fmt: skip
    return pl.DataFrame(rows)
