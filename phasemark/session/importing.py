"""Bringing recordings into the study: read, kept as they are in its folder, and listed as trials."""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from phasemark.formats import read_recording
from phasemark.formats.mapping import Mapping
from phasemark.model.errors import BadCall, BadData, PhasemarkError, Unavailable
from phasemark.model.recording import Recording
from phasemark.model.settings import Settings
from phasemark.model.study import Kind, Load, RecordingRef, Study, Trial
from phasemark.model.study_edits import add_trials, next_trial_id
from phasemark.session.session import Session
from phasemark.signal.conditioning import check_settings
from phasemark.store import disk
from phasemark.store.folder import StudyFolder
from phasemark.worker import Job, Progress


@dataclass(frozen=True, slots=True)
class Description:
    """What a person says of a recording: whose, of which exercise, under which circumstances."""

    participant: str
    kind: Kind = Kind.TASK
    exercise: str = ""
    session: str = "1"
    set: int | None = None
    order: int | None = None
    load: Load | None = None
    factors: tuple[tuple[str, str], ...] = field(default=())

    def __post_init__(self) -> None:
        if not self.participant.strip():
            raise BadCall("A recording needs its participant; give a code such as P01.")
        if self.kind is Kind.TASK and not self.exercise.strip():
            raise BadCall("A task recording needs its exercise; give its name.")
        if self.set is not None and self.set < 1:
            raise BadCall(f"Sets are numbered from 1, not {self.set}.")
        if self.order is not None and self.order < 1:
            raise BadCall(f"Places in the session are numbered from 1, not {self.order}.")


@dataclass(frozen=True, slots=True)
class Arrival:
    """A recording about to be added: from a file with its mapping, or one that is in memory already."""

    description: Description
    file: Path | None = None
    mapping: Mapping | None = None
    recording: Recording | None = None


def add_recordings(
    session: Session,
    arrivals: Sequence[Arrival],
    *,
    done: Callable[[tuple[Trial, ...]], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> Job[list[tuple[Arrival, Trial]]]:
    """Read recordings, keep them in the study's folder and add a trial for each; all of them or none.

    done gets the new trials, whose notes say what the reader met; failed gets a sentence for every file that could
    not be read.
    """
    folder, settings = session.folder, session.study.settings

    def bring(progress: Progress) -> list[tuple[Arrival, Trial]]:
        read = _read_all(arrivals, settings, lambda share: progress(0.7 * share))
        refs = _keep_all(folder, read, lambda share: progress(0.7 + 0.3 * share))
        return [
            (arrival, _trial(arrival.description, ref, recording))
            for (arrival, recording), ref in zip(read, refs, strict=True)
        ]

    def arrived(brought: list[tuple[Arrival, Trial]]) -> None:
        study = session.study
        trials: list[Trial] = []
        for arrival, trial in brought:
            trials.append(_placed(study, trials, arrival.description, trial))
        what = (
            f"added {len(trials)} recordings"
            if len(trials) != 1
            else f"added recording {trials[0].recording.source.file}"
        )
        session.edit(what, add_trials(study, tuple(trials)), trials[0].id if len(trials) == 1 else "")
        done(tuple(trials))

    return session.worker.run(
        "adding recordings", bring, on=session.worker.disk, done=arrived, failed=failed, progressed=progressed
    )


def _read_all(arrivals: Sequence[Arrival], settings: Settings, progress: Progress) -> list[tuple[Arrival, Recording]]:
    """All recordings; raises a sentence for every one that cannot be read or that the filters do not fit."""
    read: list[tuple[Arrival, Recording]] = []
    problems: list[PhasemarkError] = []
    for place, arrival in enumerate(arrivals):
        try:
            recording = _read(arrival, lambda share, p=place: progress((p + share) / len(arrivals)))
            _assert_fits(settings, recording)
        except (BadData, Unavailable) as problem:
            problems.append(problem)
        else:
            read.append((arrival, recording))
    if problems and len(arrivals) == 1:
        raise problems[0]
    if problems:
        raise BadData("\n".join(str(problem) for problem in problems) + " Nothing was added.")
    return read


def _assert_fits(settings: Settings, recording: Recording) -> None:
    try:
        check_settings(settings, recording.emg)
    except BadData as problem:
        raise BadData(f"{recording.source.file or 'A recording'}: {problem}") from problem


def _keep_all(folder: StudyFolder, read: Sequence[tuple[Arrival, Recording]], progress: Progress) -> list[RecordingRef]:
    """References to all recordings, now in the study's folder; where one cannot be kept, none is."""
    refs: list[RecordingRef] = []
    try:
        for place, (_, recording) in enumerate(read):
            progress(place / len(read))
            refs.append(folder.write_recording(recording, folder.new_recording_id()))
    except BaseException:
        for ref in refs:
            with suppress(Unavailable):  # what stays behind belongs to no trial and does no harm
                disk.remove(folder.path / ref.path)
        raise
    return refs


def _read(arrival: Arrival, progress: Progress) -> Recording:
    if arrival.recording is not None:
        return arrival.recording
    if arrival.file is None:
        raise BadCall("There is no file and no recording to add.")
    return read_recording(arrival.file, arrival.mapping, progress)


def _trial(description: Description, ref: RecordingRef, recording: Recording) -> Trial:
    return Trial(
        "new",
        description.participant.strip(),
        ref,
        recording.emg,
        recording.movement,
        description.kind,
        description.exercise.strip(),
        description.session.strip() or "1",
        description.set or 1,
        description.order,
        description.load,
        tuple(sorted(description.factors)),
    )


def _placed(study: Study, so_far: Sequence[Trial], description: Description, trial: Trial) -> Trial:
    """The trial with its id, the next set number where none was stated, and a note if its file is there already."""
    number = description.set
    if number is None:
        alike = [t.set for t in (*study.trials, *so_far) if _same_condition(t, trial)]
        number = max(alike, default=0) + 1
    again = _added_before((*study.trials, *so_far), trial.recording)
    recording = replace(trial.recording, notes=(*again, *trial.recording.notes)) if again else trial.recording
    return replace(trial, id=_unused_id(study, so_far, recording), set=number, recording=recording)


def _unused_id(study: Study, so_far: Sequence[Trial], recording: RecordingRef) -> str:
    """The next id, but not that of a trial that was removed, whose recording still has its number in the folder."""
    number = int(next_trial_id(study, len(so_far)).removeprefix("T"))
    return f"T{max(number, int(recording.id.removeprefix('R'))):03d}"


def _added_before(trials: Sequence[Trial], recording: RecordingRef) -> tuple[str, ...]:
    """The sentence on trials that came from a file with the very same bytes: counted twice they would weigh double."""
    same = [t.id for t in trials if recording.source.sha256 and t.recording.source.sha256 == recording.source.sha256]
    return (f"the same file was added before, as {', '.join(same)}",) if same else ()


def _same_condition(one: Trial, other: Trial) -> bool:
    return all(
        getattr(one, name) == getattr(other, name)
        for name in ("participant", "session", "kind", "exercise", "load", "factors")
    )
