"""The chain ladder against Mack's own figures on two published triangles.

Triangles: RAA (reinsurance, in Mack 1994, CAS Forum, p. 130) and Taylor and Ashe (1983), both from memory, confirmed by
the totals. Expected: factors, IBNR and standard errors computed with the library chainladder 0.10.1; of RAA the errors
by year were read in that library's tests, the log-linear total in the unit test of the R package ChainLadder; of Taylor
and Ashe, Mack (1993), ASTIN Bulletin 23, 213, prints 18,681 and 2,447 thousand (from memory).
"""

import numpy as np
import pytest

from pipeline.stats.chain_ladder import chain_ladder

RAA = """
    5012 8269 10907 11805 13539 16181 18009 18608 18662 18834
    106 4285 5396 10666 13782 15599 15496 16169 16704
    3410 8992 13873 16141 18735 22214 22863 23466
    5655 11555 15766 21266 23425 26083 27067
    1092 9565 15836 22169 25955 26180
    1513 6445 11702 12935 15852
    557 4020 10946 12314
    1351 6947 13112
    3133 5395
    2063
"""
TAYLOR_ASHE = """
    357848 766940 610542 482940 527326 574398 146342 139950 227229 67948
    352118 884021 933894 1183289 445745 320996 527804 266172 425046
    290507 1001799 926219 1016654 750816 146923 495992 280405
    310608 1108250 776189 1562400 272482 352053 206286
    443160 693190 991983 769488 504851 470639
    396132 937085 847498 805037 705960
    440832 847631 1131398 1063269
    359480 1061648 1443370
    376686 986608
    344014
"""


def triangle(text: str) -> np.ndarray:
    rows = [[float(cell) for cell in line.split()] for line in text.strip().splitlines()]
    whole = np.full((len(rows), len(rows[0])), np.nan)
    for place, row in enumerate(rows):
        whole[place, : len(row)] = row
    return whole


def raa() -> np.ndarray:
    return triangle(RAA)


def taylor_ashe() -> np.ndarray:
    return np.cumsum(triangle(TAYLOR_ASHE), axis=1)  # printed as increments


def test_raa_factors_what_is_to_come_and_its_errors():
    found = chain_ladder(raa())
    factors = [2.9994, 1.6235, 1.2709, 1.1717, 1.1134, 1.0419, 1.0333, 1.0169, 1.0092]
    assert found.factors == pytest.approx(factors, abs=5e-5)
    assert found.to_come.sum() == pytest.approx(52135.23, abs=0.005)
    by_year = [0, 206, 623, 747, 1469, 2002, 2209, 5358, 6333, 24566]
    assert found.errors == pytest.approx(by_year, abs=0.5)
    assert found.error == pytest.approx(26909.01, abs=0.005)


def test_taylor_ashe_factors_what_is_to_come_and_its_errors():
    found = chain_ladder(taylor_ashe())
    factors = [3.4906, 1.7473, 1.4574, 1.1739, 1.1038, 1.0863, 1.0539, 1.0766, 1.0177]
    assert found.factors == pytest.approx(factors, abs=5e-5)
    assert found.to_come.sum() == pytest.approx(18680855.6, abs=0.05)
    by_year = [0, 75535, 121699, 133549, 261406, 411010, 558317, 875328, 971258, 1363155]
    assert found.errors == pytest.approx(by_year, abs=0.5)
    assert found.error == pytest.approx(2447095, abs=0.5)


def test_the_rule_for_the_last_sigma_moves_the_error_of_the_total():
    """Trap: 26,909 by Mack's own rule, 26,881 by a line through the logs; the library's default is the second."""
    assert chain_ladder(raa(), sigma_tail="log-linear").error == pytest.approx(26880.74, abs=0.005)
    assert chain_ladder(raa(), sigma_tail="mack").error == pytest.approx(26909.01, abs=0.005)
