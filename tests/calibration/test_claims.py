"""What the study writes down of strong claims is what the pages read, at the figures of its own lines."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipeline.report.claims import claims_study
from tests.calibration.claims import claims_file
from tests.calibration.lines import LINES


def pairs(held: list[int], wrong: list[int], evidence: str = "strong") -> pl.DataFrame:
    """Firms with so many claims that hold and so many that do not; the first of these stands on nothing."""
    rows = []
    for seed, (good, bad) in enumerate(zip(held, wrong, strict=True)):
        truths = [1.0] * good + ([0.0] + [2.0] * (bad - 1) if bad else [])
        rows += [
            {"scenario": "plain", "seed": seed, "evidence": evidence, "estimate": 1.1, "low": 0.5, "high": 1.5,
             "total_effect": truth, "is_cause": truth > 0}
            for truth in truths
        ]  # fmt: skip
    return pl.DataFrame(rows)


def test_the_file_is_read_back_as_it_was_measured(tmp_path: Path) -> None:
    frame = pl.concat([pairs([40, 45, 50], [3, 5, 1]), pairs([7], [4], "suggestive")])
    file = tmp_path / "claims.toml"
    file.write_text(claims_file(frame, 3, date(2026, 1, 2)), encoding="utf-8")
    study = claims_study(file)
    assert (study.measured_on, study.seed, study.doors) == (date(2026, 1, 2), 3, 4000)
    (part,) = study.scenarios
    assert (part.name, part.firms, part.claims, part.held, part.false) == ("plain", 3, 144, 135, 3)
    assert study.whole.share == pytest.approx(135 / 144, abs=6e-4)
    assert part.found_over_true == pytest.approx(1.1)
    (line,) = [line for line in LINES if line.name == "coverage, strong claims, pooled"]
    assert line.figure(frame) == pytest.approx(135 / 144)


def test_firms_that_differ_widen_the_interval(tmp_path: Path) -> None:
    widths = []
    for held, wrong in (([45, 45, 45, 45], [5, 5, 5, 5]), ([50, 50, 50, 30], [0, 0, 0, 20])):
        file = tmp_path / "claims.toml"
        file.write_text(claims_file(pairs(held, wrong), 1, date(2026, 1, 2)), encoding="utf-8")
        whole = claims_study(file).whole
        assert whole.share == 0.9
        widths.append(whole.share_high - whole.share_low)
    assert widths[1] > 2 * widths[0]
