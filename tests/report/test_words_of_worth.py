"""What the first acts are worth a year: in money where it is known, never summed, in no order beyond the intervals."""

from pipeline.report.words import worth
from tests.report.samples import effect, nothing, open_pair

SILL = effect()  # 11 (7 to 15) callbacks, 2,500 a year
TOE = effect(deviation="toe", words="toe missing", fault_words="dropped leaf", avoidable_cost_per_year=1100.0)


def test_the_act_worth_most_is_named_with_what_it_could_spare():
    small = effect(deviation="toe", words="toe missing", avoidable_cost_per_year=500.0)
    assert worth.worth_most([small, SILL], "EUR") == (
        "Worth most: level the sill along its length before fixing it. On every door, that could spare EUR 2,500 "
        "(1,600 to 3,400) a year: about 11 (7 to 15) callbacks for stiff running."
    )


def test_money_goes_before_callbacks_and_callbacks_count_where_a_cost_is_not_known():
    dear = effect(deviation="toe", do="pack the glass", avoidable_per_year=8.0, avoidable_low=7.0, avoidable_high=9.0,
                  avoidable_cost_per_year=9000.0)  # fmt: skip
    assert worth.worth_most([SILL, dear], "EUR").startswith("Worth most: pack the glass. On every door, that could ")
    unpriced = worth.worth_most([SILL, effect(deviation="toe", words="toe", avoidable_cost_per_year=None)], "EUR")
    assert "could spare EUR 2,500" in unpriced
    assert unpriced.endswith(" What “toe” would spare in money is not known.")
    bare = worth.worth_most([effect(avoidable_cost_per_year=None)], "EUR")
    assert bare.endswith("that could spare about 11 (7 to 15) callbacks for stiff running a year.")


def test_acts_whose_intervals_overlap_that_of_the_first_are_named_or_counted():
    assert worth.worth_most([SILL, TOE], "EUR").count("may be worth as much") == 0
    near = [effect(deviation=f"d{n}", words=f"thing {n}") for n in range(4)]
    assert worth.worth_most(near, "EUR").endswith("Putting right “thing 1”, “thing 2” and 1 more may be worth as much.")


def test_nothing_is_worth_anything_before_it_is_shown():
    for effects in ([], [nothing(), open_pair()], [effect(evidence="suggestive")]):
        assert worth.worth_most(effects, "EUR") == worth.UNKNOWN
    assert worth.worth_most([effect(avoidable_low=-1.0)], "EUR") == worth.UNPRICED


def test_the_figure_holds_one_pair_a_deviation_the_dearest_first():
    again = effect(fault="noise", fault_words="noise", avoidable_cost_per_year=300.0)
    ranked = worth.priced([TOE, again, SILL, nothing(deviation="x"), effect(deviation="y", avoidable_low=-1.0)])
    assert [one for one, _ in ranked] == [SILL, TOE]
    assert worth.says(ranked, "EUR") == (
        "Cost a year that could be spared: EUR 2,500 (1,600 to 3,400) with “sill out of level”, then the others"
    )
    near = worth.priced([effect(deviation=f"d{n}", words=f"thing {n}") for n in range(2)])
    assert worth.says(near, "EUR").endswith("with “thing 0”; others may spare as much")
    assert worth.priced([effect(avoidable_cost_per_year=None)]) == []


def test_what_one_callback_of_a_fault_costs_is_told():
    assert worth.cost_of_one(worth.priced([SILL, TOE]), "EUR").startswith(
        "One callback costs EUR 230 for stiff running and EUR 100 for dropped leaf, as far as that is known"
    )
