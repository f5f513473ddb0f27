"""Single values of settings to and from text."""

from enum import Enum
from typing import Any

from phasemark.model.errors import BadCall

OFF = "off"


def value_text(value: object) -> str:
    """A value as people write it: 'off', 'yes', 'no', a number, a word, or several with commas between them."""
    if value is None:
        return OFF
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(value_text(part) for part in value)
    if isinstance(value, float):
        return repr(value)
    return str(value)


def parsed(key: str, text: str, like: Any) -> Any:
    """The value that a text says, of the same type as another one.

    Raises:
        BadCall: it says none; the sentence names the key and what it can be.
    """
    word = text.strip()
    try:
        if isinstance(like, bool):
            return {"yes": True, "no": False}[word.lower()]
        return type(like)(word)
    except (ValueError, KeyError):
        raise BadCall(f"{key} is {_choices(like)}, not {text!r}.") from None


def _choices(like: object) -> str:
    if isinstance(like, bool):
        return "yes or no"
    if isinstance(like, Enum):
        return "one of " + ", ".join(str(member) for member in type(like))
    return "a whole number" if isinstance(like, int) else "a number"
