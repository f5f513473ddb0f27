"""Columns of equal length with names: how the project file holds whatever there are many of."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from phasemark.model.errors import BadCall

Column = NDArray[np.float64] | NDArray[np.int64] | tuple[str, ...]


def parse_column(name: str, values: Sequence[str] | NDArray[np.float64] | NDArray[np.int64]) -> Column:
    """A column of one of the three kinds: read-only float64, read-only int64, or texts.

    Raises:
        BadCall: neither, or not one-dimensional.
    """
    if isinstance(values, np.ndarray):
        if values.ndim != 1 or values.dtype not in (np.float64, np.int64):
            raise BadCall(f"Column {name!r} must be one-dimensional float64 or int64, not {values.dtype}.")
        if values.flags.writeable or values.base is not None:
            values = values.copy()
            values.flags.writeable = False
        return values
    texts = tuple(values)
    if not all(issubclass(kind, str) for kind in set(map(type, texts))):
        raise BadCall(f"Column {name!r} must hold texts only, or be an array.")
    return texts


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """Named columns of equal length, in order; each float64, int64 or texts."""

    columns: Mapping[str, Column] = field(default_factory=dict)

    def __post_init__(self) -> None:
        parsed = {name: parse_column(name, values) for name, values in self.columns.items()}
        if len({len(values) for values in parsed.values()}) > 1:
            raise BadCall("The columns of a table must have equal lengths.")
        object.__setattr__(self, "columns", parsed)

    def __len__(self) -> int:
        return len(next(iter(self.columns.values()), ()))


def same(one: Table, other: Table) -> bool:
    """Whether two tables have the same columns in the same order with the same values (NaN equals NaN)."""
    if list(one.columns) != list(other.columns):
        return False
    return all(_same_column(values, other.columns[name]) for name, values in one.columns.items())


def _same_column(one: Column, other: Column) -> bool:
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return one.dtype == other.dtype and np.array_equal(one, other, equal_nan=one.dtype == np.float64)
    return not isinstance(one, np.ndarray) and not isinstance(other, np.ndarray) and one == other


@dataclass(frozen=True, slots=True, eq=False)
class ResultTable:
    """Measured values of a study: what they were made from, and the values as named columns.

    keys are (trial id, text that names all that the trial's values depend on); a trial whose key no longer
    matches is stale. columns are as those of a `Table`; what they mean is decided where they are made. further
    holds other tables of results by name.
    """

    keys: tuple[tuple[str, str], ...] = ()
    columns: Mapping[str, Column] = field(default_factory=dict)
    further: Mapping[str, Table] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "keys", tuple((trial, key) for trial, key in self.keys))
        object.__setattr__(self, "columns", Table(self.columns).columns)

    @property
    def table(self) -> Table:
        """The columns alone."""
        return Table(self.columns)


def same_results(one: ResultTable, other: ResultTable) -> bool:
    """Whether two results have the same keys and the same tables (NaN equals NaN)."""
    return (
        one.keys == other.keys
        and same(one.table, other.table)
        and set(one.further) == set(other.further)
        and all(same(table, other.further[name]) for name, table in one.further.items())
    )
