"""File names made from codes that people typed, safe on every system and never the same twice."""

import re
import unicodedata
from collections.abc import Iterable

# Device names that cannot be files on Windows (Microsoft, Naming Files, Paths, and Namespaces).
_DEVICES = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in "0123456789¹²³")}
# A file name may have 255 bytes on most systems; the rest is for prefix, ending and a number that tells names apart.
_LONGEST = 150


def safe_name(code: str) -> str:
    """A code with everything but letters, digits, dash, underscore and inner dots or blanks turned to '_'."""
    text = unicodedata.normalize("NFC", code)
    text = "".join(c if c.isalnum() or c in "-_. " else "_" for c in text)
    text = text.encode()[:_LONGEST].decode(errors="ignore")
    text = re.sub(r"^[. ]+|[. ]+$", "_", text) or "_"
    return f"{text}_" if text.split(".")[0].strip().upper() in _DEVICES else text


def file_names(codes: Iterable[str]) -> dict[str, str]:
    """A file name (without ending) for each code, apart even where letter case does not count."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for code in codes:
        base = name = safe_name(code)
        number = 2
        while name.casefold() in taken:
            name = f"{base}_{number}"
            number += 1
        taken.add(name.casefold())
        names[code] = name
    return names
