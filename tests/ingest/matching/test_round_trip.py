"""One firm, seven kinds of messy sheets: matched without help and taken in, the records are the firm's own."""

from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pipeline.ingest.matching.match import match_files
from tests.ingest.conftest import Firm
from tests.ingest.matching.writers import (
    SPELT,
    Door,
    Spelling,
    write_across,
    write_forms,
    write_leaf_rows,
    write_merged,
    write_stacked,
    write_tall,
    write_wide,
)

spellings = st.fixed_dictionaries({word: st.sampled_from(ways) for word, ways in SPELT.items()}).map(Spelling)
gaps = st.integers(4, 24).map(lambda quarter: quarter / 4)
outcomes = st.sampled_from(["pass", "fail"])


@st.composite
def doors(draw: st.DrawFn, leaf_only: bool = False) -> list[Door]:
    found = []
    for number in range(draw(st.integers(3, 6))):
        leaves = 3
        readings = {
            (measure, f"leaf_{leaf}", station): draw(gaps)
            for measure in ("head_gap", "threshold_gap")
            for leaf in range(1, leaves + 1)
            for station in ("hinge", "lock")
        }
        checks = {("toe_and_heel", f"leaf_{leaf}"): draw(outcomes) for leaf in range(1, leaves + 1)}
        if not leaf_only:
            readings |= {("sill_height", "sill", station): draw(gaps) for station in ("left", "centre", "right")}
            readings |= {("frame_diagonal", "", station): 4000 + draw(gaps) for station in ("rising", "falling")}
            checks |= {("track_clean", ""): draw(outcomes), ("end_dams_sealed", ""): draw(outcomes)}
        crew = draw(st.sampled_from(["Alder", "Birch"]))
        fitted = date(2025, 1, 6) + timedelta(days=draw(st.integers(0, 300)))
        width, height = draw(st.sampled_from([2700, 3600, 4250])), draw(st.sampled_from([2050, 2100]))
        found.append(Door(f"D-{number + 101}", crew, fitted, width, height, leaves, readings, checks))
    return found


def taken_in(write, firm_doors: list[Door], say: Spelling) -> Firm:
    """Writes the firm in one form, matches it and takes it in."""
    with TemporaryDirectory() as name:
        folder = Path(name) / "records"
        folder.mkdir()
        write(folder, firm_doors, say)
        match_files(sorted(folder.iterdir()), is_terminal=False)
        firm = Firm(folder, Path(name) / "out")
        firm.take_in()
        assert firm.set_aside() == []
        installs = firm.ask("SELECT install_id, crew, fitted_on, width_mm, height_mm, leaves FROM installs")
        assert sorted(installs) == sorted(
            (one.install_id, one.crew, one.fitted_on, one.width_mm, one.height_mm, one.leaves) for one in firm_doors
        )
        checks = firm.ask('SELECT install_id, "check", member, outcome FROM checks')
        assert set(checks) == set().union(*(one.check_rows for one in firm_doors))
        readings = firm.ask("SELECT install_id, measure, member, station, position_mm, value FROM readings")
        assert len(readings) == sum(len(one.readings) for one in firm_doors)
        return firm_doors, set(readings)


SHEETS = [
    pytest.param(write_wide, False, id="wide"),
    pytest.param(write_merged, False, id="merged headings, a sheet a crew"),
    pytest.param(write_leaf_rows, True, id="a row a leaf, blank as above"),
    pytest.param(write_forms, False, id="one door a sheet"),
    pytest.param(write_stacked, False, id="three tables in a sheet, units beside"),
    pytest.param(write_across, False, id="a column a door"),
]
# Shrinking would take a firm in many times over; what failed is printed as drawn.
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)
few = settings(max_examples=4, deadline=None, phases=PHASES, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize(("write", "leaf_only"), SHEETS)
@few
@given(data=st.data())
def test_a_firm_written_in_a_messy_form_comes_back_as_it_is(write, leaf_only, data) -> None:
    firm_doors, readings = taken_in(write, data.draw(doors(leaf_only)), data.draw(spellings))
    assert readings == set().union(*(one.reading_rows for one in firm_doors))


@few
@given(firm_doors=doors(), say=spellings)
def test_a_row_for_each_reading_in_the_firms_own_words_comes_back(firm_doors, say) -> None:
    firm_doors, readings = taken_in(write_tall, firm_doors, say)
    assert readings == set().union(*(one.reading_rows for one in firm_doors))
