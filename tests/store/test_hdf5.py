"""Texts and columns come back from HDF5 as they went in, whatever characters they hold."""

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phasemark.model.errors import BadCall, BadData
from phasemark.store import hdf5, plain_json
from phasemark.store.tables import ResultTable, Table, same, same_results

any_text = st.text(st.characters(), max_size=12)  # half surrogate pairs and NUL included
awkward = st.sampled_from(["", ".", "..", "a/b", "a%2Fb", "a\0b", "ü", "\udcff", "names", "=1+1"])
names = st.lists(any_text | awkward, min_size=1, max_size=5, unique=True)


def through_file(table: Table) -> Table:
    buffer = io.BytesIO()
    with hdf5.writing(buffer) as file:
        hdf5.put_table(file, "table", table)
    with hdf5.reading(buffer, "it") as file:
        return hdf5.get_table(file["table"])


@settings(max_examples=60, deadline=None)
@given(st.data(), names, st.integers(0, 4))
def test_any_table_comes_back(data: st.DataObject, columns: list[str], rows: int) -> None:
    def column() -> object:
        kind = data.draw(st.sampled_from(["text", "float", "int"]))
        if kind == "text":
            return data.draw(st.lists(any_text | awkward, min_size=rows, max_size=rows))
        if kind == "float":
            return np.array(data.draw(st.lists(st.floats(), min_size=rows, max_size=rows)), dtype=np.float64)
        whole = st.integers(-(2**63), 2**63 - 1)
        return np.array(data.draw(st.lists(whole, min_size=rows, max_size=rows)), dtype=np.int64)

    table = Table({name: column() for name in columns})  # type: ignore[misc]
    assert same(through_file(table), table)


def test_columns_are_plain_data_sets_under_their_names() -> None:
    """Other programs find a column of texts as places in a list of words."""
    buffer = io.BytesIO()
    with hdf5.writing(buffer) as file:
        hdf5.put_table(file, "t", Table({"muscle": ["b", "a", "b"], "rms_mV": np.array([1.0, np.nan, 2.0])}))
    with hdf5.reading(buffer, "it") as file:
        assert file["t/columns/rms_mV"][0] == 1.0
        assert file["t/columns/muscle"][()].tolist() == [0, 1, 0]
        assert file["t/words/muscle"][()] == b'["b","a"]'


def test_tables_differ_in_order_kind_and_values() -> None:
    one = Table({"a": np.array([1, 2]), "b": ["x", "y"]})
    assert not same(one, Table({"b": ["x", "y"], "a": np.array([1, 2])}))
    assert not same(one, Table({"a": np.array([1.0, 2.0]), "b": ["x", "y"]}))
    assert not same(one, Table({"a": np.array([1, 3]), "b": ["x", "y"]}))
    assert not same(one, Table({"a": np.array([1, 2]), "b": np.array([1, 2])}))


def test_columns_of_other_kinds_or_unequal_lengths_are_refused() -> None:
    for columns in (
        {"a": np.array([1, 2]), "b": ["x"]},
        {"a": np.zeros((2, 2))},
        {"a": np.array(["x"])},
        {"a": [1, 2]},
    ):
        with pytest.raises(BadCall):
            Table(columns)  # type: ignore[arg-type]


def test_results_hold_their_columns_unchangeable() -> None:
    values = np.array([1.0, np.nan])
    results = ResultTable((("T001", "key"),), {"rms_mV": values})
    values[0] = 5.0
    column = results.columns["rms_mV"]
    assert isinstance(column, np.ndarray)
    assert column[0] == 1.0
    assert not column.flags.writeable
    assert same_results(results, ResultTable((("T001", "key"),), {"rms_mV": np.array([1.0, np.nan])}))
    assert not same_results(results, ResultTable((("T001", "other"),), results.columns))


def test_numbers_of_numpy_have_a_json_form_and_other_objects_none() -> None:
    assert plain_json.dump([np.int64(3), np.float64(0.5)]) == b"[3,0.5]"
    with pytest.raises(TypeError, match="object"):
        plain_json.dump(object())
    with pytest.raises(BadData):
        plain_json.load(b"{")


def test_a_file_that_is_no_hdf5_is_one_sentence() -> None:
    for damage in (b"", b"hello", bytes(3000)):
        with (
            pytest.raises(BadData, match="that file is damaged") as caught,
            hdf5.reading(io.BytesIO(damage), "that file"),
        ):
            pass
        assert "\n" not in str(caught.value)
