"""What is known of each exercise as KEY=VALUE texts: 'first_phase[squat]=lowering' and the like."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from phasemark.model.errors import BadCall
from phasemark.model.marks import LOWERING, RAISING
from phasemark.model.setting_values import OFF, parsed, value_text
from phasemark.model.study import Exercise, Kind, Study
from phasemark.model.study_edits import with_exercise

AUTOMATIC = "automatic"
EXERCISE_KEYS = ("first_phase", "against_load", "isometric", "lowering_s", "raising_s")


def exercise_lines(study: Study) -> Iterator[tuple[str, str]]:
    """Keys and values of every exercise that a trial names or something is known of."""
    performed = {t.exercise for t in study.trials if t.exercise and t.kind is not Kind.MVIC}
    for name in sorted(performed | {exercise.name for exercise in study.exercises}):
        known = study.exercise(name)
        yield f"first_phase[{name}]", known.first_phase or AUTOMATIC
        for key in EXERCISE_KEYS[1:]:
            yield f"{key}[{name}]", value_text(getattr(known, key))


def with_exercise_setting(study: Study, key: str, name: str, text: str) -> Study:
    """The study with one thing known otherwise of an exercise.

    Raises:
        BadCall: a value that it cannot have; the sentence says which it can.
    """
    known, word = study.exercise(name), text.strip()
    return with_exercise(study, replace(known, **{key: _value(known, key, f"{key}[{name}]", word)}))


def _value(known: Exercise, key: str, full: str, word: str) -> Any:
    if key in ("first_phase", "against_load"):
        choices = (AUTOMATIC, LOWERING, RAISING) if key == "first_phase" else (LOWERING, RAISING)
        if word not in choices:
            raise BadCall(f"{full} is one of {', '.join(choices)}, not {word!r}.")
        return None if word == AUTOMATIC else word
    if key == "isometric":
        return bool(parsed(full, word, known.isometric))
    return None if word == OFF else float(parsed(full, word, 0.0))
