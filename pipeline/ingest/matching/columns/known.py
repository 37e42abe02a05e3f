"""The numbers by which a firm's other sheets know its doors and jobs: they tell what a column of numbers names."""

import re
from dataclasses import dataclass

from pipeline.ingest.declared.mapping import LookUp

# From this share of a column's different cells on, they are taken to be numbers of that kind.
_ARE_KNOWN = 0.8
# So many of them where the others are such numbers too, as people write them who have them by heart.
_SOME = 0.3
# Fewer digits than that are no number by themselves.
_FEWEST_DIGITS = 3
# A list may have doors that no other sheet given has; so many that are known are no accident.
_SOME_ARE_KNOWN, _FEWEST_KNOWN = 0.25, 4
# A number of fewer signs may be another's by accident.
_TELLING = 3

# Of the doors of a sheet another list must have so many to be a list of the same.
_SAME = 0.8
# What tells of a door, beside whose it is and when who worked at it.
_FACTS = frozenset({"width_mm", "height_mm", "leaves", "product", "material", "colour", "glass_mm", "leaf_weight_kg"})


@dataclass(frozen=True)
class Listing:
    """A list of doors by their numbers in small letters.

    named  its headings, see Layout.named; none of a file that needs no mapping
    says   the columns of installs that it has
    """

    named: tuple[str, ...]
    doors: frozenset[str]
    says: frozenset[str]

    def outdoes(self, other: "Listing") -> bool:
        """Whether it is another list of the same doors and says more of them: facts of the doors, then all else."""
        is_of_same = len(other.doors & self.doors) >= _SAME * len(other.doors) > 0
        return self.named != other.named and is_of_same and self._weight > other._weight

    @property
    def _weight(self) -> tuple[int, int]:
        return len(self.says & _FACTS), len(self.says)


@dataclass(frozen=True)
class Join:
    """What a list of doors looks up in another sheet. doors, there: the headings of the two, see Layout.named.

    columns  of installs, each with where it stands; units: of those that are sizes, by column
    names    of the other sheet and of that of the doors, as told
    """

    doors: tuple[str, ...]
    there: tuple[str, ...]
    columns: tuple[tuple[str, LookUp], ...]
    names: tuple[str, str]
    units: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Known:
    """Door and job numbers, and crews, in small letters, of every sheet that is matched together.

    crew_files  files whose doors are of one crew, each with the crew that its name says
    restarted  the headings of logs whose own numbers begin anew in every sheet
    codes  short codes of headings that a sheet explains, with what each means
    lists      of doors, one for each layout of sheets that hold one
    joins      what lists of doors look up in other sheets
    """

    doors: frozenset[str] = frozenset()
    jobs: frozenset[str] = frozenset()
    crews: frozenset[str] = frozenset()
    restarted: frozenset[tuple[str, ...]] = frozenset()
    lists: tuple[Listing, ...] = ()
    codes: tuple[tuple[str, str], ...] = ()
    crew_files: tuple[tuple[str, str], ...] = ()
    joins: tuple[Join, ...] = ()

    def in_full(self, said: str) -> str:
        """A heading with its codes in the words of the key."""
        meant = dict(self.codes)
        return " ".join(meant.get(word, word) for word in said.split()) if meant else said

    def are_doors(self, texts: frozenset[str]) -> bool:
        """Whether cells are numbers of doors."""
        return _share(texts, self.doors) >= _ARE_KNOWN

    def are_some_doors(self, texts: frozenset[str]) -> bool:
        """Whether so many of the cells are numbers of doors that the others must be too, of doors not given."""
        doors = {text for text in texts & self.doors if len(text) >= _TELLING}
        is_of_jobs = len(texts & (self.jobs - self.doors)) >= len(doors)
        return len(doors) >= max(_FEWEST_KNOWN, _SOME_ARE_KNOWN * len(texts)) and not is_of_jobs

    def are_jobs(self, texts: frozenset[str]) -> bool:
        """Whether cells are numbers of jobs, and not of doors."""
        return _share(texts, self.jobs) >= _ARE_KNOWN and not self.are_doors(texts)

    def are_written_like_doors(self, texts: frozenset[str]) -> bool:
        """Whether some cells are numbers of doors, and nearly all others are such numbers written in another manner."""
        digits = {_digits(one) for one in self.doors} - {""}
        alike = frozenset(one for one in texts if one in self.doors or _digits(one) in digits)
        return _share(texts, self.doors) >= _SOME and _share(texts, alike) >= _ARE_KNOWN

    def outdo(self, one: Listing) -> bool:
        """Whether another list says more of the doors of one."""
        return any(other.outdoes(one) for other in self.lists)

    def knows(self, texts: frozenset[str]) -> bool:
        """Whether cells are numbers of doors or jobs."""
        return self.are_doors(texts) or self.are_jobs(texts)


NOTHING_KNOWN = Known()


def _digits(text: str) -> str:
    """The longest run of digits in a number, the last of several, without leading zeros; empty where it is short."""
    runs = re.findall(r"\d+", text)
    longest = max(reversed(runs), key=len, default="")
    return longest.lstrip("0") if len(longest) >= _FEWEST_DIGITS else ""


def _share(texts: frozenset[str], known: frozenset[str]) -> float:
    return len(texts & known) / len(texts) if texts and known else 0.0
