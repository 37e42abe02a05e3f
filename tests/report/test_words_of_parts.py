"""Where an effect differs: the words follow the table, and claim nothing that it does not."""

from typing import Any

from pipeline.report.rows.part_rows import EffectPart
from pipeline.report.words import parts as words

ROW: dict[str, Any] = {
    "fault": "stiff_running", "fault_words": "stiff running", "deviation": "sill_level_error",
    "words": "sill out of level", "by": "material", "level": "timber", "ratio": 4.1, "ratio_low": 2.0,
    "ratio_high": 7.9, "spread": None, "spread_high": None, "doors": 300, "events": 21, "q_differ": 0.004,
    "verdict": "differs",
}  # fmt: skip


def part(**changed: Any) -> EffectPart:
    return EffectPart(**(ROW | changed))


def test_the_strongest_part_stands_against_the_weakest() -> None:
    weak = part(level="pvc-u", ratio=1.8, ratio_low=1.2, ratio_high=2.6)
    few = part(level="steel", ratio=None, ratio_low=None, ratio_high=None, q_differ=None, verdict="too_few")
    assert words.lead([few, part(), weak]) == "sill out of level → stiff running."
    assert words.differs_says([few, part(), weak]) == (
        "Stronger in timber, 4 times (2 to 8) as often, against 1.8 (1.2 to 2.6) in pvc-u. Watch it first on "
        "timber doors."
    )
    assert words.says([few, part(), weak]) == "Not alike everywhere: sill out of level → stiff running by material"


def test_crews_that_differ_are_named_beside_what_is_common() -> None:
    whole = part(by="crew", level="all", ratio=2.2, ratio_low=1.5, ratio_high=3.3, spread=0.5, spread_high=0.9)
    most, least = part(by="crew", level="K1"), part(by="crew", level="K7", ratio=1.1, ratio_low=0.6, ratio_high=2.0)
    said = words.differs_says([whole, least, most])
    assert said.startswith(
        "Differs between crews: for all 2.2 times (1.5 to 3.3) as often; most in crew K1, 4 times (2 to 8) as often, "
        "against 1.1 (0.6 to 2.0) in crew K7, each crew drawn towards all."
    )
    # of more crews than are shown one by one
    assert words.differs_says([whole]).startswith(
        "Differs between crews: for all 2.2 times (1.5 to 3.3) as often; spread a factor of 1.6, at most 2.5. See first"
    )
    assert words.spread_words(whole) == "a factor of 1.6, at most 2.5"
    assert [words.part_name(row) for row in (whole, most)] == ["all crews", "crew K1"]


def test_seasons_and_what_is_not_recorded_read_as_sentences() -> None:
    summer = part(by="season", level="June to August")
    unknown = part(level="not recorded", ratio=1.8, ratio_low=1.2, ratio_high=2.6)
    assert "on doors fitted June to August" in words.differs_says([summer, unknown])
    assert words.differs_says([unknown, part(ratio=1.1, ratio_low=0.9, ratio_high=1.4)]).endswith(
        "Have it recorded, to know which doors these are."
    )


def test_nothing_shown_is_said_with_what_could_be_asked() -> None:
    alike = part(verdict="alike", q_differ=0.6)
    few = part(by="crew", level="all", q_differ=None, verdict="too_few")
    assert words.says([alike, few]) == words.NOT_SHOWN
    assert words.asked_says([alike, few]).startswith(
        "Each of 1 finding was asked whether it is the same in every crew, material and season of fitting; the records "
        "were enough for 0 by crew, 1 by material and 0 by season."
    )


def test_the_page_has_the_section_and_its_table(pages, few_pages) -> None:  # type: ignore[no-untyped-def]
    quality = pages["quality"]
    assert "Not alike everywhere: " in quality
    assert "effect_by.csv" in quality
    assert words.VERDICTS["alike"] in quality
    assert "effect_by" not in few_pages["quality"]
