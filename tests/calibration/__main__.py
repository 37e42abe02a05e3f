"""`python -m tests.calibration`, `make calibrate`: the whole study, or as many firms as asked for; see --help."""

import argparse
from datetime import date
from pathlib import Path

from pipeline.demo.scenarios import SCENARIOS
from pipeline.report.claims import FILE as CLAIMS
from tests.calibration.claims import claims_file
from tests.calibration.figures import page
from tests.calibration.parts import PARTS
from tests.calibration.study import Kept, gathered, in_turn, measured

ROOT = Path(__file__).parents[2]


def main() -> None:
    """Measures what is not measured yet, then writes the page of figures."""
    options = _options()
    kept = Kept(options.keep)
    parts = tuple(part for part in PARTS if not options.part or part.name in options.part)
    firms = list(in_turn(options.scenario or list(SCENARIOS), options.firms, options.seed))
    for number, (scenario, seed) in enumerate(firms, start=1):
        if measured(scenario, seed, kept, parts):
            print(f"{number} of {len(firms)}: {scenario}, seed {seed}", flush=True)
    frames, today = gathered(kept, options.seed), date.today()
    options.out.write_text(page(frames, options.seed, today), encoding="utf-8")
    print(f"The figures are in {options.out}.")
    if "pairs" in frames:
        options.claims.write_text(claims_file(frames["pairs"], options.seed, today), encoding="utf-8")
        print(f"What the pages tell of strong claims is in {options.claims}.")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.calibration", description=__doc__)
    parser.add_argument("--firms", type=int, default=200, help="firms in each scenario (200)")
    parser.add_argument("--scenario", action="append", choices=list(SCENARIOS), help="only this one; may be repeated")
    names = [part.name for part in PARTS]
    parser.add_argument(
        "--part", action="append", choices=names, help="only this one; may be repeated (pairs cost most)"
    )
    parser.add_argument("--seed", type=int, default=1, help="another seed, other firms (1)")
    parser.add_argument("--keep", type=Path, default=ROOT / ".calibration", help="folder of what was measured")
    parser.add_argument("--out", type=Path, default=Path(__file__).with_name("figures.md"), help="the page to write")
    parser.add_argument("--claims", type=Path, default=CLAIMS, help="the file of strong claims that the pages show")
    return parser.parse_args()


if __name__ == "__main__":
    main()
