"""Disturbs runs on a small firm: kills them, takes their room away, begins two at once; what came of it.

`python -m tests.hardness.disturbed --kills 20 --pairs 3 --few` prints one line of JSON: `kills`, `no_room`, `two_runs`.
"""

import argparse
import json
import sys
import tempfile
from pathlib import Path

from tests.hardness import kills, no_room, two_runs
from tests.hardness.children import load_everything
from tests.hardness.small_firm import SmallFirm


def main() -> None:
    """Prints the figures as one line of JSON."""
    parser = argparse.ArgumentParser(prog="python -m tests.hardness.disturbed", description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--pairs", type=int, default=4)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--pages", action="store_true", help="draw the pages of the runs that are killed too")
    parser.add_argument("--few", action="store_true", help="a few sizes of room, and no disk")
    options = parser.parse_args()
    load_everything()
    with tempfile.TemporaryDirectory(prefix="fitback-disturbed-") as folder:
        small = SmallFirm(Path(folder), options.pages)
        found = {
            "kills": kills.figures(small, options.kills, options.seed, told),
            "no_room": no_room.figures(small, options.few),
            "two_runs": two_runs.figures(small, options.pairs),
        }
    print(json.dumps(found))


def told(text: str) -> None:
    """Says how far it is, beside the answer."""
    print(text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
