"""Steps from each schema of the project file and of the ledger to the next one.

A step is a function from one form to the next, registered under the schema it starts from. The form of a
project file is its `Content`, that of a ledger line its JSON values; so a step needs no old model types.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from phasemark.model.errors import BadData
from phasemark.store.content import Content

SCHEMA = 2


def _with_references_and_plan(content: Content) -> Content:
    # Schema 2 adds references chosen by hand and the analysis plan; every other new field has a default that
    # says what schema 1 did (no notch, no decisions made blind, ...), and is filled in when it is read.
    return replace(content, texts={**content.texts, "references": [], "plan": None})


def _same_line(line: dict[str, Any]) -> dict[str, Any]:
    return line


CONTENT_STEPS: Mapping[int, Callable[[Content], Content]] = {1: _with_references_and_plan}
LINE_STEPS: Mapping[int, Callable[[dict[str, Any]], dict[str, Any]]] = {1: _same_line}

T = TypeVar("T")


class NewerSchema(BadData):
    """The file was written by a later version of the program; nothing is opened and nothing changed."""


def migrated(form: T, schema: int, steps: Mapping[int, Callable[[T], T]], what: str, current: int = SCHEMA) -> T:
    """A form of an older schema as the current one.

    Raises:
        NewerSchema: the schema is later than this program knows.
        BadData: there is no step from the schema.
    """
    refuse_newer(schema, what, current)
    for version in range(schema, current):
        if version not in steps:
            raise BadData(f"{what} has schema {schema}, which no version of Phasemark has written.")
        form = steps[version](form)
    return form


def refuse_newer(schema: int, what: str, current: int = SCHEMA) -> None:
    """Raise NewerSchema where a schema is later than this program knows."""
    if schema > current:
        raise NewerSchema(
            f"{what} was written by a later version of Phasemark (schema {schema}; this one knows up to "
            f"{current}); open it with that version, nothing was changed."
        )
