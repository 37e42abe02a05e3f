"""The bar for linking: on simulated paper at most 1 in 100 links is false while 95 in 100 true ones are found.

True links to be found are those of houses with one door: a house of several doors is found too, but its callback is
held there unless something tells the doors apart. The damage is the test's own; no published benchmark is used.
"""

from dataclasses import dataclass
from datetime import date
from time import monotonic

import polars as pl
import pytest

from tests.ingest.linking.paper import HARSH, Harm, Paper, make_paper


@dataclass(frozen=True)
class Score:
    """Shares of links that are false, a wrong house counted as one, and of one-door houses found; callbacks held."""

    false: float
    found: float
    held: int


def score(firm, paper: Paper) -> Score:
    paper.installs.write_csv(firm.folder / "installs.csv")
    paper.callbacks.write_csv(firm.folder / "callbacks.csv")
    firm.take_in(today=date(2040, 1, 1))
    linked = pl.DataFrame(firm.ask(LINKED), schema=["callback_id", "got", "site"], orient="row")
    assert linked.height == paper.callbacks.height
    all_of_them = paper.truth.join(linked, on="callback_id", how="left", validate="1:1")
    links = all_of_them.filter(pl.col("got").is_not_null())
    alone = all_of_them.filter((pl.col("doors") == 1) & pl.col("install_id").is_not_null())
    held = all_of_them.filter(pl.col("got").is_null() & pl.col("site").is_not_null() & (pl.col("doors") > 1))
    houses = paper.installs.with_columns(pl.col("install_id").min().over("address", "postcode").alias("house"))
    held = held.join(houses.select("install_id", "house"), on="install_id", how="left")
    wrong = links.filter(pl.col("got").ne_missing(pl.col("install_id"))).height
    wrong += held.filter(pl.col("site").ne_missing(pl.col("house"))).height
    found = alone.filter(pl.col("got").eq_missing(pl.col("install_id"))).height
    return Score(wrong / (links.height + held.height), found / alone.height, held.height)


# By match where linking decided, else by the job number's key where it stands on one door: as linked_callbacks.sql.
LINKED = """
    WITH jobs AS (
        SELECT job_key, min(install_id) AS door FROM installs JOIN job_numbers USING (job_no)
        GROUP BY job_key HAVING count(*) = 1)
    SELECT c.callback_id, CASE WHEN m.callback_id IS NULL THEN jobs.door ELSE m.install_id END, m.site
    FROM callbacks AS c
    LEFT JOIN callback_matches AS m USING (callback_id)
    LEFT JOIN job_numbers AS n ON n.job_no = c.job_no
    LEFT JOIN jobs ON jobs.job_key = n.job_key
"""


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_at_most_1_in_100_links_is_false_and_95_in_100_are_found(empty_firm, seed):
    result = score(empty_firm, make_paper(1500, 1000, seed, Harm()))
    assert result.false <= 0.01
    assert result.found >= 0.95


@pytest.mark.parametrize("seed", [21, 22])
def test_harsher_paper_costs_links_found_but_never_trust(empty_firm, seed):
    """Common surnames, several doors in every fourth house, most job numbers missing or wrong."""
    result = score(empty_firm, make_paper(1500, 1000, seed, HARSH))
    assert result.false <= 0.01
    assert result.found >= 0.85
    assert result.held >= 50


@pytest.mark.parametrize("harm", [Harm(no_postcode=1), Harm(no_name=1), Harm(no_address=1), Harm(not_ours=0.3)])
def test_links_stay_true_where_a_firm_never_writes_a_part_or_many_callers_are_strangers(empty_firm, harm):
    result = score(empty_firm, make_paper(1500, 1000, 25, harm))
    assert result.false <= 0.01
    assert result.found >= 0.75


def test_thirty_callbacks_of_a_small_firm_are_linked_without_training(empty_firm):
    result = score(empty_firm, make_paper(80, 30, 31, Harm()))
    assert result.false == 0
    assert result.found >= 0.8


def test_the_same_records_are_linked_the_same_in_any_order(new_firm):
    paper = make_paper(400, 300, 41, HARSH)
    found = []
    for name, order in (("one", False), ("two", True)):
        firm = new_firm(name)
        score(firm, Paper(paper.installs, paper.callbacks.sort("callback_id", descending=order), paper.truth))
        found.append(firm.ask("SELECT * EXCLUDE (probability, site_probability), round(probability, 9) "
                              "FROM callback_matches ORDER BY callback_id"))  # fmt: skip
    assert found[0] == found[1]
    assert len(found[0]) > 100


@pytest.mark.bench
def test_20000_callbacks_against_100000_doors_are_linked_within_a_minute(empty_firm, monkeypatch):
    from pipeline.ingest.linking import link

    seconds = []
    real = link._linked

    def timed(*args):
        began = monotonic()
        result = real(*args)
        seconds.append(monotonic() - began)
        return result

    monkeypatch.setattr(link, "_linked", timed)
    result = score(empty_firm, make_paper(100_000, 20_000, 51, Harm()))
    assert result.false <= 0.01
    assert result.found >= 0.95
    assert sum(seconds) < 60
