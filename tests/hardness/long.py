"""The full counts: 200 kills, 10,000 spoilt files, pairs of runs, full disks; writes what came of them to figures.md.

`python -m tests.hardness.long [--kills N] [--files N] [--seed N]`, or `make test-long`.
"""

import argparse
import platform
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from time import monotonic
from typing import Any

from tests.hardness.sample import figures_of

FIGURES = Path(__file__).with_name("figures.md")
DAY = 86_400.0
HEAD = """# What the hardness tests found

Written by `make test-long`. A kill is SIGKILL at a random moment of a run; after each, the next run must complete and
leave the records and results of an undisturbed one. A spoilt file must end in no traceback and no hang (180 s a folder
of 50), within 1,024 MiB, with every row and file in the account and nothing that a spreadsheet or browser would run.

"""


def main() -> int:
    """Runs everything; ends with 1 where there was a fault."""
    options = _options()
    started = monotonic()
    with ThreadPoolExecutor(options.at_once) as pool:
        disturbed = pool.submit(_disturbed, options.kills, options.seed)
        spoilt = [
            pool.submit(_spoilt, options.files // options.at_once, options.seed + part)
            for part in range(options.at_once)
        ]
        found = disturbed.result() | {"spoilt": [part.result() for part in spoilt]}
    text, faults = _text(found, options.seed, monotonic() - started)
    FIGURES.write_text(HEAD + text, encoding="utf-8")
    print(text)
    return 1 if faults else 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.hardness.long", description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--files", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=20_261_127)
    parser.add_argument("--at-once", type=int, default=2, help="how many programs at a time (2)")
    return parser.parse_args()


def _disturbed(kills: int, seed: int) -> dict[str, Any]:
    return figures_of("disturbed", "--kills", str(kills), "--seed", str(seed), "--pages", seconds=DAY)


def _spoilt(number: int, seed: int) -> dict[str, Any]:
    return figures_of("spoilt", "--files", str(number), "--seed", str(seed), seconds=DAY)


def _text(found: dict[str, Any], seed: int, seconds: float) -> tuple[str, list[str]]:
    """The figures as Markdown, and all faults."""
    kills, room, pairs, spoilt = (found[name] for name in ("kills", "no_room", "two_runs", "spoilt"))
    faults = [fault for each in (kills, *spoilt, room, pairs) for fault in each["faults"]]
    kinds = [kind for each in spoilt for kind in each["kinds"]]
    lines = [
        f"{datetime.now(UTC):%Y-%m-%d}, seed {seed}, {seconds / 60:.0f} minutes; Python {platform.python_version()} on "
        f"{sys.platform}, fitback {version('fitback')}, duckdb {version('duckdb')}, polars {version('polars')}.",
        "",
        "| what | how many | faults |",
        "| --- | --- | --- |",
        f"| runs killed while they worked | {kills['kills']:,} | {len(kills['faults'])} |",
        f"| spoilt files, in {len(set(kinds))} kinds | {sum(each['files'] for each in spoilt):,} | "
        f"{sum(len(each['faults']) for each in spoilt)} |",
        f"| runs whose files could not grow | {room['files']} | {len(room['faults'])} (with the line below) |",
        f"| runs on a disk that was full | {room['disks']} | |",
        f"| pairs of runs at once, of which {pairs['gave_way']} gave way | {pairs['pairs']} | {len(pairs['faults'])} |",
        "",
        f"Longest folder of spoilt files {max(each['most_seconds'] for each in spoilt):.0f} s, most memory "
        f"{max(each['most_mib'] for each in spoilt):.0f} MiB.",
        "",
        *(f"- {fault}" for fault in faults),
    ]
    return "\n".join(lines).rstrip() + "\n", faults


if __name__ == "__main__":
    sys.exit(main())
