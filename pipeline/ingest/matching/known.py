"""The numbers by which a firm's other sheets know its doors and jobs: they tell what a column of numbers names."""

from dataclasses import dataclass

# From this share of a column's different cells on, they are taken to be numbers of that kind.
_ARE_KNOWN = 0.8


@dataclass(frozen=True)
class Known:
    """Door and job numbers, and crews, in small letters, of every sheet that is matched together.

    restarted  the headings of logs whose own numbers begin anew in every sheet
    """

    doors: frozenset[str] = frozenset()
    jobs: frozenset[str] = frozenset()
    crews: frozenset[str] = frozenset()
    restarted: frozenset[tuple[str, ...]] = frozenset()

    def are_doors(self, texts: frozenset[str]) -> bool:
        """Whether cells are numbers of doors."""
        return _share(texts, self.doors) >= _ARE_KNOWN

    def are_jobs(self, texts: frozenset[str]) -> bool:
        """Whether cells are numbers of jobs, and not of doors."""
        return _share(texts, self.jobs) >= _ARE_KNOWN and not self.are_doors(texts)

    def knows(self, texts: frozenset[str]) -> bool:
        """Whether cells are numbers of doors or jobs."""
        return self.are_doors(texts) or self.are_jobs(texts)


NOTHING_KNOWN = Known()


def _share(texts: frozenset[str], known: frozenset[str]) -> float:
    return len(texts & known) / len(texts) if texts and known else 0.0
