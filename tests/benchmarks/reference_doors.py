"""The deviations of every door, by pandas: an independent reading of their definitions, written to be compared.

One pass over the readings with declared types, then array work for each measure; no loop over doors.
"""

from pathlib import Path

import numpy as np
import pandas as pd

PLACE = ["install_id", "measure", "member", "station", "position_mm"]


def read_readings(folder: Path) -> pd.DataFrame:
    """The columns that deviations need; words as categories while they are read, so that they take little room.

    The Arrow engine took four times as long and three times the memory for the same columns.
    """
    return pd.read_csv(
        folder / "readings.csv",
        usecols=[*PLACE, "value", "read_on"],
        dtype={**dict.fromkeys(PLACE[:4], "category"), "position_mm": "float64", "value": "float64"},
        parse_dates=["read_on"],
    )


def read_table(folder: Path, record: str) -> pd.DataFrame:
    """One of the small records, its dates as dates."""
    frame = pd.read_csv(folder / f"{record}.csv")
    for name in frame.columns[frame.columns.str.endswith("_on")]:
        frame[name] = pd.to_datetime(frame[name])
    return frame


def counted_readings(readings: pd.DataFrame, installs: pd.DataFrame, callbacks: pd.DataFrame) -> pd.DataFrame:
    """Readings dated on or before handover and before the first callback; of one place the latest."""
    doors = installs.set_index("install_id")
    started = doors["handed_over_on"].fillna(doors["fitted_on"])
    first_call = callbacks.groupby("install_id")["reported_on"].min().reindex(started.index)
    last_day = np.minimum(started, (first_call - pd.Timedelta(days=1)).fillna(started))
    order = readings["install_id"].cat.categories
    limit = last_day.reindex(order).to_numpy()[readings["install_id"].cat.codes]
    kept = readings[readings["read_on"].isna() | (readings["read_on"] <= limit)]
    repeated = kept.duplicated(PLACE, keep=False)
    if not repeated.any():
        return kept
    latest = kept[repeated].sort_values("read_on", na_position="first").drop_duplicates(PLACE, keep="last")
    return pd.concat([kept[~repeated], latest])


class Lines:
    """Least-squares lines of value on position, one for each value of `key`."""

    def __init__(self, key: np.ndarray, rows: pd.DataFrame) -> None:
        """key  (m,) integers, the same for readings of one line"""
        self.keys, index = np.unique(key, return_inverse=True)
        position, value = rows["position_mm"].to_numpy(), rows["value"].to_numpy()
        n = np.bincount(index)
        from_mean = position - (np.bincount(index, position) / n)[index]
        of_value = value - (np.bincount(index, value) / n)[index]
        square = np.bincount(index, from_mean**2)
        self.slope = np.bincount(index, from_mean * of_value) / np.where(square > 0, square, np.nan)
        self.rise = self.slope * spread(index, position)
        self.residual = np.where(n >= 3, largest(index, np.abs(of_value - self.slope[index] * from_mean)), np.nan)
        self.chord = _chord(index, position, value)


def _chord(index: np.ndarray, position: np.ndarray, value: np.ndarray) -> np.ndarray:
    """Largest distance from the line through the first and the last station; needs three."""
    order = np.lexsort((position, index))
    index, position, value = index[order], position[order], value[order]
    first = np.flatnonzero(np.r_[True, index[1:] != index[:-1]])
    last = np.r_[first[1:], len(index)] - 1
    rise = (value[last] - value[first]) / (position[last] - position[first])
    offset = value - value[first][index] - rise[index] * (position - position[first][index])
    return np.where(last - first >= 2, largest(index, np.abs(offset)), np.nan)


def largest(index: np.ndarray, values: np.ndarray) -> np.ndarray:
    """The largest value of each group 0..G-1."""
    found = np.full(index.max() + 1, -np.inf)
    np.maximum.at(found, index, values)
    return found


def spread(index: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Largest less smallest value of each group 0..G-1."""
    return largest(index, values) + largest(index, -values)


def deviations(counted: pd.DataFrame, installs: pd.DataFrame) -> pd.DataFrame:
    """install_id as index and one column a deviation; nan where it cannot be had."""
    names = counted["install_id"].cat.categories
    doors = installs.set_index("install_id").reindex(names)
    counted = counted.assign(door=counted["install_id"].cat.codes.astype("int64"))
    by_measure = dict(list(counted.groupby("measure", observed=True)))
    found = pd.DataFrame(index=pd.RangeIndex(len(names)))
    _sill(found, by_measure["sill_height"])
    _diagonals(found, by_measure["frame_diagonal"], doors)
    _jambs(found, by_measure["jamb_face"], by_measure["jamb_edge"])
    _head(found, by_measure["clear_height"])
    _fixings(found, by_measure["fixing"], doors)
    _leaves(found, by_measure["head_gap"], by_measure["leaf_diagonal"])
    return found.set_index(names.rename("install_id"))


def _put(found: pd.DataFrame, name: str, doors: np.ndarray, values: np.ndarray) -> None:
    found.loc[doors, name] = values


def _sill(found: pd.DataFrame, rows: pd.DataFrame) -> None:
    lines = Lines(rows["door"].to_numpy(), rows)
    _put(found, "sill_level_error", lines.keys, np.abs(lines.rise))
    _put(found, "sill_bow", lines.keys, lines.residual)
    _put(found, "sill_chord_bow", lines.keys, lines.chord)


def _diagonals(found: pd.DataFrame, rows: pd.DataFrame, doors: pd.DataFrame) -> None:
    pair = rows.pivot(index="door", columns="station", values="value")
    _put(found, "frame_diagonal_difference", pair.index, (pair["rising"] - pair["falling"]).abs())
    squares = (pair["rising"] ** 2 - pair["falling"] ** 2).abs()
    _put(found, "frame_racking", pair.index, squares / (4 * doors["width_mm"].to_numpy()[pair.index]))


def _jambs(found: pd.DataFrame, face: pd.DataFrame, edge: pd.DataFrame) -> None:
    leans = {}
    for plane, rows in (("face", face), ("edge", edge)):
        is_right = (rows["member"] == "right_jamb").to_numpy()
        lines = Lines(rows["door"].to_numpy() * 2 + is_right, rows)
        leans[plane] = pd.Series(lines.rise, index=[lines.keys // 2, lines.keys % 2]).unstack()
    both = pd.concat(leans, axis=1)
    _put(found, "jamb_plumb_error", both.index, both.abs().max(axis=1))
    _put(found, "jamb_lean_out", both.index, both["face"].abs().max(axis=1))
    _put(found, "jamb_twist", both.index, (both["face"][0] - both["face"][1]).abs())


def _head(found: pd.DataFrame, rows: pd.DataFrame) -> None:
    lines = Lines(rows["door"].to_numpy(), rows)
    index = np.searchsorted(lines.keys, rows["door"].to_numpy())
    _put(found, "head_parallel_error", lines.keys, spread(index, rows["value"].to_numpy()))
    _put(found, "head_bow", lines.keys, lines.residual)


def _fixings(found: pd.DataFrame, rows: pd.DataFrame, doors: pd.DataFrame) -> None:
    """Jambs and head. A member's length is the door's height or width; 250 mm from its ends at most, 600 mm apart."""
    member = rows["member"].astype(str).map({"left_jamb": 0, "right_jamb": 1, "head": 2}).to_numpy()
    key, value = rows["door"].to_numpy() * 3 + member, rows["value"].to_numpy()
    order = np.lexsort((value, key))
    key, value = key[order], value[order]
    first = np.flatnonzero(np.r_[True, key[1:] != key[:-1]])
    last = np.r_[first[1:], len(key)] - 1
    gaps = np.where(key[1:] == key[:-1], np.diff(value), -np.inf)
    door, side = key[first] // 3, key[first] % 3
    length = np.where(side == 2, doors["width_mm"].to_numpy()[door], doors["height_mm"].to_numpy()[door])
    wanted = np.maximum(2, np.ceil((length - 500) / 600) + 1)
    members = pd.DataFrame({
        "door": door,
        "gap": np.maximum.reduceat(np.r_[gaps, -np.inf], first),
        "corner": np.minimum(value[first], length - value[last]),
        "missing": np.maximum(wanted - (last - first + 1), 0),
    })  # fmt: skip
    by_door = members.groupby("door").agg({"gap": "max", "corner": "min", "missing": "sum"})
    _put(found, "fixing_spacing", by_door.index, by_door["gap"])
    _put(found, "fixing_corner_distance", by_door.index, by_door["corner"])
    _put(found, "fixing_shortfall", by_door.index, by_door["missing"])


def _leaves(found: pd.DataFrame, gaps: pd.DataFrame, diagonals: pd.DataFrame) -> None:
    by_door = gaps.groupby("door")["value"]
    extent = by_door.max() - by_door.min()
    _put(found, "head_gap_spread", extent.index, extent)
    keys = [diagonals["door"], diagonals["member"]]
    signed = diagonals["value"].where(diagonals["station"] == "rising", -diagonals["value"])
    worst = signed.groupby(keys, observed=True).sum().abs().groupby("door").max()
    _put(found, "leaf_diagonal_difference", worst.index, worst)
