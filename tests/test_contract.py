"""The column names that users' own scripts may count on, for every published table that is made."""

import pytest

from pipeline.export import PUBLISHED
from pipeline.model_files import model_paths, read_model

CONTRACT = {
    "set_aside": "file sheet row column value reason record scope",
    "linked_callbacks": "callback_id install_id how probability",
    "coded_callbacks": "callback_id fault how confidence",
    "deviations": "install_id deviation step value uncertainty readings",
    "limit_decisions": "install_id limit deviation value limit_value decision probability_out",
    "record_credibility": "crew test statistic p_value q_value doors verdict",
    "callback_rates": "crew doors door_years callbacks rate rate_low rate_high expected ratio ratio_low ratio_high "
    "fair_ratio fair_low fair_high funnel",
    "effects": "fault deviation step per unit hazard_ratio hr_low hr_high p_value q_value doors events recorded_share "
    "attributable_share attributable_low attributable_high avoidable_per_year avoidable_cost_per_year evidence",
    "dose_response": "fault deviation value hazard_ratio hr_low hr_high doors",
    "limit_advice": "fault deviation limit_now limit_risk_1_5 limit_low limit_high limit_cost advice",
    "callback_causes": "callback_id deviation share",
    "weak_steps": "crew step doors out_share out_low out_high firm_out_share avoidable_per_year priority priority_low "
    "priority_high",
    "training_effects": "crew step trained_on outcome ratio ratio_low ratio_high doors_before doors_after",
    "signals": "crew subject chart at value limit meaning",
    "outlook": "month callbacks callbacks_low callbacks_high cost cost_low cost_high",
    "recheck": "install_id crew fault risk risk_ratio because do",
}
BUILT_NOW = (
    "set_aside",
    "linked_callbacks",
    "coded_callbacks",
    "deviations",
    "limit_decisions",
    "record_credibility",
    "callback_rates",
    "effects",
    "dose_response",
    "limit_advice",
    "weak_steps",
    "callback_causes",
    "recheck",
)
PATHS = model_paths()


@pytest.mark.parametrize("table", [table for table in CONTRACT if table in PATHS or table in BUILT_NOW])
def test_a_published_table_has_the_columns_of_the_contract(table):
    columns = [column.name for column in read_model(PATHS[table]).header.columns]
    assert [name for name in CONTRACT[table].split() if name not in columns] == []


def test_every_table_of_the_contract_is_published():
    assert set(CONTRACT) <= set(PUBLISHED)
