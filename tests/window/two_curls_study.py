"""A small study of two exercises on disk: what was invented is stronger in one of them, in one muscle only."""

from dataclasses import replace
from pathlib import Path

from curls_study import recording

from phasemark.model.recording import Recording
from phasemark.session.command_session import new_study, open_for_command
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.marking import mark, to_mark
from phasemark.session.measuring import measure, stale_trials

STRONG, WEAK = "strict curl", "loose curl"
PEOPLE = ("P01", "P02", "P03", "P04")
ALONE = "P05"
"""Did one of the two only."""
FACTOR = 1.6
LOUD, LIKE = "biceps brachii", "triceps brachii"


def louder(made: Recording, factor: float) -> Recording:
    """The recording with its first muscle so much stronger."""
    return replace(made, emg_values=(factor * made.emg_values[0], *made.emg_values[1:]))


def arrivals() -> list[Arrival]:
    """Everybody's two exercises, and one of the participant who did one only."""
    found = []
    for number, person in enumerate(PEOPLE):
        for order, exercise in enumerate((WEAK, STRONG), start=1):
            factor = (1 + 0.05 * number) * (FACTOR if exercise == STRONG else 1.0)
            made = louder(recording(10 * number + order), factor)
            found.append(Arrival(Description(person, exercise=exercise, order=order), recording=made))
    found.append(Arrival(Description(ALONE, exercise=WEAK, order=1), recording=recording(99)))
    return found


def make_two_curls(folder: Path, *, marked: bool = True, measured: bool = True) -> Path:
    """Write the study; trials T001, T002 are the first participant's."""
    new_study(folder)
    with open_for_command(folder, print) as at:
        at.wait(lambda **back: add_recordings(at.session, arrivals(), **back), lambda _: None)
        if marked:
            at.wait(lambda **back: mark(at.session, to_mark(at.session, again=False), **back), lambda _: None)
        if marked and measured:
            at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back), lambda _: None)
    return folder
