"""Rows of the exports: one per segment and muscle, one per boundary; words and numbers, no text yet."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from phasemark.model.clock import seconds
from phasemark.model.intervals import Purpose
from phasemark.model.marks import Marks, Origin, Rep
from phasemark.model.recording import EmgChannel
from phasemark.model.study import Study, Trial
from phasemark.results.facts import interval_of
from phasemark.results.holds import NO_REP, hold_rule
from phasemark.results.measure import Value
from phasemark.results.numbers import Numbers
from phasemark.results.standing import exclusion_reason, hold_standing, standing
from phasemark.results.value_cells import VALUE_COLUMNS, Row, motion_cells, value_cells, value_notes

TRIAL_COLUMNS = ("participant", "session", "exercise", "set", "order", "load", "kind", "trial")
SEGMENT_COLUMNS = (
    *("rep", "rep_id", "complete", "counted", "phase", "against_load", "third", "muscle", "side"),
    *("begin_s", "end_s", "rms_mV", "mean_amplitude_mV", "valid_samples", "samples"),
    *("thirds_rule", "phase_rule", "origin", "checked", "doubt", "excluded", "reason", "rater", "note"),
    *VALUE_COLUMNS,
)
MARK_COLUMNS = (
    *("participant", "session", "exercise", "set", "kind", "trial", "rep", "rep_id", "complete", "phase"),
    *("boundary", "time_s", "sample", "clock_hz", "origin", "rater", "checked", "excluded", "reason"),
    *("doubt", "doubts", "checked_blind"),
)


def factor_columns(study: Study, taken: Iterable[str]) -> dict[str, str]:
    """Column of each factor: its name, or factor_<name> where another column or factor has that name already."""
    used, names = set(taken), study.factor_names()
    found: dict[str, str] = {}
    for name in names:
        column = name
        while column in used or (column != name and column in names):
            column = f"factor_{column}"
        found[name] = column
    return found


def trial_cells(study: Study, trial: Trial, factors: Mapping[str, str]) -> Row:
    """What a row says of its trial, its factors among it."""
    cells: Row = {
        "participant": trial.participant,
        "session": trial.session,
        "exercise": trial.exercise,
        "set": trial.set,
        "order": trial.order,
        "load": trial.load.text if trial.load else None,
        "kind": trial.kind,
        "trial": trial.id,
    }
    cells.update({column: trial.factor(name) for name, column in factors.items()})
    return cells


def _origin(rep: Rep, value: Value) -> str:
    """Hand where a hand placed a boundary of the segment, else automatic."""
    edges = {edge for piece in value.segment.pieces for edge in piece}
    placed = {b.sample for phase in rep.phases for _, b in phase.boundaries() if b.origin is Origin.HAND}
    return Origin.HAND if edges & placed else Origin.AUTOMATIC


def _rep_cells(study: Study, trial: Trial, marks: Marks, rep: Rep, value: Value, *, places: dict[int, int]) -> Row:
    """What a row says of the rep that its value belongs to."""
    stands = standing(trial, rep, trial.emg[value.channel], study.settings.counted, places)
    return {
        "rep": places.get(rep.id),
        "rep_id": rep.id,
        "complete": rep.complete,
        "counted": stands.counted,
        "thirds_rule": marks.thirds_rule,
        "phase_rule": marks.phase_rule,
        "origin": _origin(rep, value),
        "checked": rep.checked is not None,
        "doubt": rep.doubt,
        "excluded": stands.excluded,
        "reason": stands.reason,
    }


def _hold_cells(study: Study, trial: Trial, channel: EmgChannel) -> Row:
    """What a row says of the hold of an isometric exercise, which belongs to no rep and counts as one."""
    stands = hold_standing(trial, channel)
    placed = interval_of(trial, channel, Purpose.HOLD) is not None
    return {
        "rep": None,
        "rep_id": NO_REP,
        "complete": True,
        "counted": stands.counted,
        "thirds_rule": "",
        "phase_rule": "placed by hand" if placed else hold_rule(study.settings),
        "origin": Origin.HAND if placed else Origin.AUTOMATIC,
        "checked": None,
        "doubt": None,
        "excluded": stands.excluded,
        "reason": stands.reason,
    }


def segment_rows(numbers: Numbers, trial: Trial, factors: Mapping[str, str]) -> Iterator[Row]:
    """One row per rep (or hold), segment and muscle of a trial, those that do not count among them."""
    study, marks = numbers.study, trial.marks_of(numbers.rater)
    about_trial = trial_cells(study, trial, factors)
    places = marks.numbers()
    loaded = study.exercise(trial.exercise).against_load
    reps = {rep.id: rep for rep in marks.reps}
    clock, moved = trial.clock, numbers.motion(trial)
    normalisers = [numbers.normaliser(trial, channel) for channel in trial.emg]
    noises = [numbers.baseline(trial, channel) for channel in trial.emg]
    for value in numbers.results[trial.id].values:
        channel, segment = trial.emg[value.channel], value.segment
        if value.rep == NO_REP:
            belongs = _hold_cells(study, trial, channel)
        else:
            belongs = _rep_cells(study, trial, marks, reps[value.rep], value, places=places)
        yield about_trial | {
            **belongs,
            "phase": segment.phase,
            "against_load": segment.phase == loaded if segment.phase in ("lowering", "raising") else None,
            "third": segment.third,
            "muscle": channel.muscle,
            "side": channel.side,
            "begin_s": seconds(segment.begin, clock),
            "end_s": seconds(segment.end, clock),
            "rater": marks.rater,
            "note": " ".join(value_notes(study, trial, value)),
            **value_cells(study, trial, value, normalisers[value.channel], noises[value.channel]),
            **motion_cells(study, trial, segment, moved.get((value.rep, segment))),
        }


def mark_rows(study: Study, trial: Trial, marks: Marks, factors: Mapping[str, str]) -> Iterator[Row]:
    """One row per boundary of a trial."""
    about_trial = trial_cells(study, trial, factors)
    numbers = marks.numbers()
    for rep in marks.reps:
        reason = exclusion_reason(trial, rep)
        about_rep: Row = {
            "rep": numbers.get(rep.id),
            "rep_id": rep.id,
            "complete": rep.complete,
            "rater": marks.rater,
            "checked": rep.checked is not None,
            "excluded": reason is not None,
            "reason": reason or "",
            "doubt": rep.doubt,
            "doubts": "; ".join(rep.doubts),
            "checked_blind": None if rep.checked is None else rep.checked.blind,
            "clock_hz": float(trial.clock),
        }
        for phase in rep.phases:
            for place, boundary in phase.boundaries():
                yield (
                    about_trial
                    | about_rep
                    | {
                        "phase": phase.name,
                        "boundary": place,
                        "time_s": seconds(boundary.sample, trial.clock),
                        "sample": boundary.sample,
                        "origin": boundary.origin,
                    }
                )


def columns(fixed: Sequence[str], factors: Mapping[str, str]) -> tuple[str, ...]:
    """Columns of a table with one more for each factor at the end."""
    return (*fixed, *factors.values())
