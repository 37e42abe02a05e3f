"""The files that come with fitback keep the house in order: headers, layers, columns and types."""

import duckdb
import pytest

from pipeline.graph import standard_graph
from pipeline.model_files import Model, find_models

MODELS = sorted(find_models().values(), key=lambda model: model.where)


@pytest.fixture(params=MODELS, ids=lambda model: model.where)
def model(request) -> Model:
    return request.param


def test_the_graph_holds_every_file_and_no_layer_reads_upwards():
    assert set(standard_graph().models) == {model.name for model in MODELS}


def test_every_header_tells_purpose_grain_and_each_columns_meaning(model):
    assert len(model.header.purpose) > 15
    assert model.header.grain.startswith("one row per"), model.header.grain
    assert [column.name for column in model.header.columns if not column.meaning] == []


def test_every_table_is_built_from_empty_inputs_with_the_columns_of_its_header(model, run_model):
    frame = run_model(model.name).frame
    built = duckdb.from_arrow(frame.to_arrow())
    types = dict(zip(built.columns, map(str, built.types), strict=True))
    assert types == {column.name: column.duckdb_type for column in model.header.columns}
