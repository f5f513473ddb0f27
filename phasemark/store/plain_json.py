"""JSON text as files hold it: UTF-8, no extra blanks, keys in the order given."""

import json
from typing import Any

import numpy as np

from phasemark.model.errors import BadData


def dump(plain: Any) -> bytes:
    """JSON values as one line of UTF-8.

    Texts that are no Unicode (half a surrogate pair, as names of files can hold) are written with escapes.
    """
    try:
        return _text(plain, escapes=False).encode("utf-8")
    except UnicodeEncodeError:
        return _text(plain, escapes=True).encode("ascii")


def _text(plain: Any, *, escapes: bool) -> str:
    return json.dumps(plain, ensure_ascii=escapes, separators=(",", ":"), allow_nan=False, default=_number)


def _number(value: object) -> Any:
    """The plain number of a numpy one, which values that come from arrays may still be."""
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value).__name__} has no JSON form")


def load(data: bytes) -> Any:
    """The JSON values of a text; BadData where it is none."""
    try:
        return json.loads(data.decode("utf-8"))
    except ValueError as problem:
        raise BadData(f"not a JSON text: {problem}") from None
