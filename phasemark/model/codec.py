"""Model values to and from plain JSON values, at the border of files only."""

import json
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from cattrs import BaseValidationError, transform_error
from cattrs.preconf.json import JsonConverter, make_converter

from phasemark.model.clock import rate_text
from phasemark.model.errors import BadData

T = TypeVar("T")


def _converter() -> JsonConverter:
    converter = make_converter(forbid_extra_keys=True)
    converter.register_unstructure_hook(Fraction, rate_text)
    converter.register_structure_hook(Fraction, lambda value, _: Fraction(value))
    converter.register_unstructure_hook(Decimal, str)
    converter.register_structure_hook(Decimal, lambda value, _: Decimal(value))
    return converter


_CONVERTER = _converter()


def to_plain(value: object) -> Any:
    """A model value as JSON values (dicts, lists, texts, numbers)."""
    return _CONVERTER.unstructure(value)


def from_plain(plain: object, kind: type[T]) -> T:
    """The model value that was written down.

    Raises:
        BadData: what was wrong and where in it, in one line.
    """
    try:
        return _CONVERTER.structure(plain, kind)
    except BaseValidationError as problem:
        raise BadData("; ".join(transform_error(problem))) from None
    except (ValueError, TypeError, KeyError) as problem:
        raise BadData(f"{kind.__name__}: {problem}") from None


def json_text(value: object, *, indent: int | None = None) -> str:
    """A model value (or plain JSON value) as JSON text with sorted keys, the same for the same value."""
    plain: Mapping[str, Any] | Any = to_plain(value)
    separators = (",", ":") if indent is None else None
    return json.dumps(plain, ensure_ascii=False, sort_keys=True, indent=indent, separators=separators, allow_nan=False)
