"""One firm, run once: simulated doors with all there is to read, and doors by hand that are hard to draw or to name.

What asks for it stands in test_command.py, so that one worker makes it.
"""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.demo.simulate import simulate
from pipeline.demo.write import write_firm
from pipeline.door.trail import DoorTrail, door_trail
from pipeline.progress import Silence
from pipeline.run import run_firm
from tests.door.rows import HOSTILE

HAND = {
    "installs": f"""install_id,crew,fitted_on,leaves,width_mm,height_mm,product,customer,address
D1,Alder,2025-01-10,,3000,2100,,Invented Person,12 Invented Road
D9,Alder,31/13/2025,,3000,2100,,,
bare,Alder,2025-01-10,,,,,,
Seven,Alder,2025-01-10,7,5600,2100,,,
"{HOSTILE.replace('"', '""')}",Alder,2025-01-10,2,1800,2100,"{HOSTILE.replace('"', '""')}",Invented Person,
""",
    "readings": f"""install_id,measure,member,station,position_mm,value,unit,instrument,read_on
D1,sill_height,sill,,0,0,mm,,2025-01-09
D1,sill_height,sill,,3000,0.4,cm,,2025-01-09
D1,sill_height,sill,,3000,9,mm,,2025-03-01
D1,side_gap,leaf_1,,,ok,mm,,2025-01-09
D1,frame_width,sill,,,3001,mm,,2125-01-09
D9,sill_height,sill,,0,0,mm,,2025-01-09
bare,sill_height,sill,,0,1,mm,,2025-01-09
bare,sill_height,sill,,2000,2,mm,,2025-01-09
Seven,head_gap,leaf_7,hinge,,5,mm,,2025-01-09
Seven,head_gap,leaf_7,lock,,8.5,mm,,2025-01-09
Seven,jamb_face,left_jamb,,0,2000,mm,,2025-01-09
Seven,jamb_face,left_jamb,,2100,3,mm,,2025-01-09
"{HOSTILE.replace('"', '""')}",frame_diagonal,,rising,,2768,mm,,2025-01-09
"{HOSTILE.replace('"', '""')}",frame_diagonal,,falling,,2760,mm,,2025-01-09
""",
    "callbacks": """callback_id,install_id,reported_on,fault,note
C1,D1,2025-02-01,draught,a secret note
""",
    "crews": "crew\nAlder\n",
}


@pytest.fixture(scope="session")
def firm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which one firm's results lie, in `firm-fitback`."""
    here = tmp_path_factory.mktemp("doors")
    write_firm(simulate(doors=16, crews=3, seed=5, ends_on=date(2025, 6, 30), recorded=0.9), here / "firm")
    for name in ("callbacks", "training"):  # what they teach of causes takes most of a run and is not asked for here
        (here / "firm" / f"{name}.csv").unlink()
    for name, text in HAND.items():
        (here / "firm" / f"{name} by hand.csv").write_text(text, encoding="utf-8")
    run_firm(here / "firm", None, Silence())
    return here


@pytest.fixture(scope="session")
def trails(firm: Path) -> dict[str, DoorTrail]:
    """Every simulated door's trail."""
    return {name: door_trail(name, firm / "firm-fitback") for name in (f"D-{number:06}" for number in range(1, 17))}


@pytest.fixture
def ask(firm: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Runs the command in the folder in which the results lie."""
    monkeypatch.chdir(firm)
    return lambda *arguments: CliRunner().invoke(app, ["door", *arguments])


@pytest.fixture
def sheet(ask: Any) -> Any:
    """The page of a door, as the command says where it lies."""

    def read(install_id: str) -> str:
        told = json.loads(ask(install_id, "--json").stdout)
        return Path(told["files"]["page"]).read_text("utf-8")

    return read
