"""The invented firm: its files, and the simulator that wrote them and knows the truth.

`simulate` makes a firm of any size, `write_firm` its records, `ideal_fit` what a fit on the true deviations says.
"""

from pipeline.demo.ideal import ideal_fit
from pipeline.demo.scenario import Scenario
from pipeline.demo.simulate import Firm, simulate
from pipeline.demo.write import write_firm

__all__ = ["Firm", "Scenario", "ideal_fit", "simulate", "write_firm"]
