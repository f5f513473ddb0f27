"""Rows of one frozen record type to columns of equal length and back, as the project file keeps them."""

from collections.abc import Mapping, Sequence
from dataclasses import fields
from enum import StrEnum
from typing import Any, TypeVar, get_type_hints

import numpy as np
from numpy.typing import NDArray

from phasemark.model.errors import BadData

Column = NDArray[np.float64] | NDArray[np.int64] | tuple[str, ...]
T = TypeVar("T")


def to_columns(kind: type, rows: Sequence[Any]) -> dict[str, Column]:
    """One column for each field of a record type: whole numbers and truths int64, decimals float64, else texts."""
    columns: dict[str, Column] = {}
    for name, of in _kinds(kind).items():
        values = [getattr(row, name) for row in rows]
        if of is float:
            columns[name] = np.array(values, dtype=np.float64)
        elif of in (int, bool):
            columns[name] = np.array(values, dtype=np.int64)
        else:
            columns[name] = tuple(str(value) for value in values)
    return columns


def from_columns(kind: type[T], columns: Mapping[str, Column], what: str) -> list[T]:
    """The records that were written down.

    Raises:
        BadData: a column is missing, or holds what the record cannot.
    """
    kinds = _kinds(kind)
    absent = [name for name in kinds if name not in columns]
    if absent:
        raise BadData(f"The {what} of the study lack {', '.join(absent)}; measure it again.")
    lists = [_read(of, columns[name], what) for name, of in kinds.items()]
    return [kind(*values) for values in zip(*lists, strict=True)]


def _kinds(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in fields(kind)}


def _read(of: Any, column: Column, what: str) -> list[Any]:
    values = column.tolist() if isinstance(column, np.ndarray) else list(column)
    try:
        return [of(value) for value in values] if of is bool or issubclass(of, StrEnum) else values
    except ValueError as problem:
        raise BadData(f"The {what} of the study hold {problem}; measure it again.") from None
