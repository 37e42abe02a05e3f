"""Invented doors and callbacks, the callbacks damaged as paper is: the truth of each is known.

Names, streets and towns are invented. Kinds of damage: numbers exchanged, dropped, cut, of an order instead of a job;
addresses shortened, misspelt, with a plot number; postcodes missing or wrong; names with and without title, initial,
misspelt, of another person of the house; several doors in one house.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

import polars as pl

_STEMS = [
    *("Alder", "Birch", "Cedar", "Dale", "Elm", "Fern", "Gorse", "Hazel", "Iris", "Juniper", "Kelp", "Larch"),
    *("Moss", "Nettle", "Oak", "Pine", "Quince", "Rowan", "Sedge", "Thorn", "Umber", "Vetch", "Willow", "Yarrow"),
]
_ENDS = ["ton", "field", "by", "wick", "ley", "man", "er", "son", "worth", "ham"]
_COMMON = ["Smith", "Jones", "Brown", "Green", "Hill", "Wood", "Cook", "Clark"]
_FORENAMES = ["Anna", "Ben", "Carol", "David", "Ella", "Frank", "Grace", "Hugh", "Ivy", "Jack", "Kate", "Liam",
              "Mary", "Noel", "Olga", "Paul", "Rose", "Sam", "Tess", "Will"]  # fmt: skip
_KINDS = ["Road", "Street", "Lane", "Close", "Avenue", "Drive", "Gardens", "Terrace"]
_SHORT = {"Road": "Rd", "Street": "St.", "Lane": "Ln", "Close": "Cl", "Avenue": "Ave", "Drive": "Dr",
          "Gardens": "Gdns", "Terrace": "Tce"}  # fmt: skip


@dataclass(frozen=True)
class Harm:
    """Shares of callbacks that each kind of damage strikes; houses with several doors; common surnames."""

    no_job: float = 0.45
    wrong_job: float = 0.2
    no_postcode: float = 0.2
    wrong_postcode: float = 0.06
    no_address: float = 0.06
    plot: float = 0.04
    misspelt: float = 0.15
    no_name: float = 0.04
    other_person: float = 0.05
    not_ours: float = 0.03
    several_doors: float = 0.05
    common_names: float = 0.2
    says_which: float = 0.3


HARSH = Harm(no_job=0.7, wrong_job=0.5, no_postcode=0.3, wrong_postcode=0.1, misspelt=0.25, other_person=0.1,
             several_doors=0.25, common_names=0.8, plot=0.06)  # fmt: skip


@dataclass(frozen=True)
class Paper:
    """truth: callback_id, install_id (None: not one of our doors), doors (in the house)."""

    installs: pl.DataFrame
    callbacks: pl.DataFrame
    truth: pl.DataFrame


def make_paper(n_doors: int, n_callbacks: int, seed: int, harm: Harm = Harm()) -> Paper:
    """Doors with their people, and callbacks that name no door."""
    rng = Random(seed)
    doors = _doors(rng, n_doors + max(20, n_doors // 30), harm)
    ours = doors[:n_doors]
    our_houses = {(door["address"], door["postcode"]) for door in ours}
    # whoever calls from a house of ours, under any name, calls about our door
    strangers = [door for door in doors[n_doors:] if (door["address"], door["postcode"]) not in our_houses]
    in_house: dict[tuple[str, str], int] = {}
    for door in ours:
        house = (door["address"], door["postcode"])
        in_house[house] = in_house.get(house, 0) + 1
    callbacks, truth = [], []
    for number in range(n_callbacks):
        is_ours = rng.random() >= harm.not_ours
        door = rng.choice(ours if is_ours else strangers)
        callbacks.append({"callback_id": f"C{number:06}", **_written(rng, door, harm)})
        doors_there = in_house.get((door["address"], door["postcode"]), 0)
        truth.append((f"C{number:06}", door["install_id"] if is_ours else None, doors_there))
    schema = {"callback_id": pl.String, "install_id": pl.String, "doors": pl.Int64}
    return Paper(pl.DataFrame(ours), pl.DataFrame(callbacks), pl.DataFrame(truth, schema=schema, orient="row"))


def _doors(rng: Random, n_doors: int, harm: Harm) -> list[dict]:
    towns = [f"ZZ{n}" for n in range(1, 2 + n_doors // 250)]
    streets = {town: [_street(rng, town) for _ in range(25)] for town in towns}
    doors: list[dict] = []
    while len(doors) < n_doors:
        town = rng.choice(towns)
        street, code = rng.choice(streets[town])
        house = {
            "customer": f"{rng.choice(_FORENAMES)} {_surname(rng, harm)}",
            "address": f"{rng.randint(1, 120)}{rng.choice('AB') if rng.random() < 0.05 else ''} {street}",
            "postcode": code,
        }
        fitted = date(2021, 1, 1) + timedelta(days=rng.randint(0, 1400))
        n_here = rng.choice([2, 2, 3]) if rng.random() < harm.several_doors else 1
        for _ in range(n_here):
            number = len(doors)
            leaves = rng.randint(2, 7)
            doors.append(house | {
                "install_id": f"D{number:06}", "job_no": str(20_000 + number), "crew": rng.choice(["Alder", "Birch"]),
                "fitted_on": fitted, "handed_over_on": fitted + timedelta(days=rng.randint(0, 10)),
                "leaves": leaves, "width_mm": 850 * leaves + rng.randint(-150, 150),
            })  # fmt: skip
            fitted += timedelta(days=rng.choice([0, 0, 0, 400]))
    return doors[:n_doors]


def _surname(rng: Random, harm: Harm) -> str:
    return rng.choice(_COMMON) if rng.random() < harm.common_names else rng.choice(_STEMS) + rng.choice(_ENDS)


def _street(rng: Random, town: str) -> tuple[str, str]:
    name = f"{rng.choice(_STEMS)}{rng.choice(['', rng.choice(_ENDS)])} {rng.choice(_KINDS)}"
    return name, f"{town} {rng.randint(1, 9)}{rng.choice('ABDEF')}{rng.choice('XYZ')}"


def _written(rng: Random, door: dict, harm: Harm) -> dict:
    which = f"{door['leaves']} leaf door, {round(door['width_mm'], -1)} wide" if rng.random() < harm.says_which else ""
    return {
        "job_no": _job(rng, door["job_no"], harm),
        "customer": _customer(rng, door["customer"], harm),
        "address": _address(rng, door["address"], harm),
        "postcode": _postcode(rng, door["postcode"], harm),
        "reported_on": door["handed_over_on"] + timedelta(days=int(rng.expovariate(1 / 400)) - 3),
        "note": " ".join(filter(None, ["handle loose,", which])),
    }


def _job(rng: Random, job: str, harm: Harm) -> str | None:
    if rng.random() < harm.no_job:
        return None
    if rng.random() < harm.wrong_job:
        place = rng.randrange(len(job) - 1)
        exchanged = job[:place] + job[place + 1] + job[place] + job[place + 2 :]
        return rng.choice([exchanged, job[:place] + job[place + 1 :], job[1:], f"Q{rng.randint(1000, 9999)}"])
    return rng.choice([job, job, f"JOB {job}", f"j-{job}", f"0{job}", f"{job}.0"])


def _customer(rng: Random, customer: str, harm: Harm) -> str | None:
    if rng.random() < harm.no_name:
        return None
    forename, surname = customer.split()
    if rng.random() < harm.other_person:
        return f"{rng.choice(_FORENAMES)} {rng.choice(_STEMS)}{rng.choice(_ENDS)}"
    if rng.random() < harm.misspelt:
        surname = _misspelt(rng, surname)
    forms = [f"{forename} {surname}", f"{surname}, {forename[0]}", f"Mr {surname}", f"Mrs {forename[0]}. {surname}",
             f"{surname.upper()}", f"Mr & Mrs {surname}"]  # fmt: skip
    return rng.choice(forms)


def _address(rng: Random, address: str, harm: Harm) -> str | None:
    if rng.random() < harm.no_address:
        return None
    house, *street = address.split()
    if rng.random() < harm.plot:
        house = f"Plot {rng.randint(1, 30)}"
    if rng.random() < harm.misspelt:
        street[0] = _misspelt(rng, street[0])
    if rng.random() < 0.4:
        street[-1] = _SHORT[street[-1]]
    line = f"{house} {' '.join(street)}"
    return rng.choice([line, f"{house}, {' '.join(street)}", line.lower()])


def _postcode(rng: Random, postcode: str, harm: Harm) -> str | None:
    if rng.random() < harm.no_postcode:
        return None
    if rng.random() < harm.wrong_postcode:
        return _misspelt(rng, postcode)
    return rng.choice([postcode, postcode.lower(), postcode.replace(" ", "")])


def _misspelt(rng: Random, word: str) -> str:
    place = rng.randrange(1, len(word) - 1)
    return rng.choice([
        word[:place] + word[place + 1 :],
        word[:place] + word[place + 1] + word[place] + word[place + 2 :],
        word[:place] + rng.choice("aeiou") + word[place + 1 :],
    ])  # fmt: skip
