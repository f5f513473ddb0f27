"""Files of older schemas pass through one step for each schema; later ones are refused."""

import pytest

from phasemark.model.errors import BadData
from phasemark.store.content import Content
from phasemark.store.migration import CONTENT_STEPS, LINE_STEPS, SCHEMA, NewerSchema, migrated


def test_each_step_is_taken_once_and_in_order() -> None:
    steps = {
        version: (lambda form, version=version: Content({**form.texts, "seen": [*form.texts.get("seen", []), version]}))
        for version in (1, 2, 3)
    }
    assert migrated(Content(), 1, steps, "it", current=4).texts["seen"] == [1, 2, 3]
    assert migrated(Content(), 3, steps, "it", current=4).texts["seen"] == [3]
    assert migrated(Content(), 4, steps, "it", current=4).texts == {}


def test_a_later_schema_and_one_without_a_step_are_said() -> None:
    with pytest.raises(NewerSchema, match="it was written by a later version"):
        migrated(Content(), 5, {}, "it", current=4)
    with pytest.raises(BadData, match="it has schema 0"):
        migrated(Content(), 0, {}, "it", current=1)


def test_every_schema_before_the_present_one_has_its_steps() -> None:
    assert set(CONTENT_STEPS) == set(LINE_STEPS) == set(range(1, SCHEMA))
