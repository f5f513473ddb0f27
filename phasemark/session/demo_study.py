"""The demo study: invented, written as a study of its own, marked, measured and exported, its truth beside it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from phasemark.demo import DEMO_NAME, PARTICIPANTS, InventedTrial, invent, plan_study, truth_csv
from phasemark.model.errors import Unavailable
from phasemark.session.command_session import At, new_study, open_for_command
from phasemark.session.exporting import Exported, export
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.marking import mark, to_mark
from phasemark.session.measuring import measure, stale_trials
from phasemark.store import disk
from phasemark.store.places import RECORDINGS, study_files

STAGES = 5  # inventing, writing recordings, marking, measuring, exporting


@dataclass(frozen=True, slots=True)
class DemoFiles:
    """Where the demo study, its truth and its exports were written."""

    study: Path
    truth: Path
    exports: Path


@dataclass(slots=True)
class _Made:
    """What was made so far."""

    study: bool = False
    exports: tuple[Path, ...] = ()


@contextmanager
def _removed_where_stopped(files: DemoFiles) -> Iterator[_Made]:
    """Remove what was made where what is inside raises; what was there before stays."""
    folders = [*reversed(files.study.parents), files.study, files.study / RECORDINGS, files.exports]
    new = [folder for folder in folders if not folder.exists()]
    truth_is_new = not files.truth.exists()
    made = _Made()
    try:
        yield made
    except BaseException:
        gone = [
            *made.exports,
            *([files.truth] if truth_is_new else []),
            *(study_files(files.study) if made.study else []),
        ]
        for file in gone:
            with suppress(Unavailable):  # what stopped it is the thing to say
                disk.remove(file)
        for folder in reversed(new):
            disk.remove_empty_folder(folder)
        raise


def _arrival(trial: InventedTrial) -> Arrival:
    description = Description(
        trial.participant, trial.kind, trial.exercise, trial.session, trial.set, trial.order, trial.load, trial.factors
    )
    return Arrival(description, recording=trial.recording)


def write_demo(
    to: Path | None, seed: int, tell: Callable[[str], None], progress: Callable[[str], Callable[[float], None]]
) -> DemoFiles:
    """Invent the study and take it through the whole chain; the same seed gives the same study.

    to is a folder for all three (default: a folder named after the demo in the current one). progress is given the
    title of each of the STAGES and gives what is told how far it is, and may raise Cancelled there. Where it is
    stopped or fails, what it made is removed again, and nothing else.

    Raises:
        BadCall: there is a study already in the place.
    """
    place = to or Path(DEMO_NAME)
    files = DemoFiles(place / "study", place / "truth.csv", place / "exports")
    with _removed_where_stopped(files) as made:
        new_study(files.study)
        made.study = True
        with open_for_command(files.study, tell) as at:
            trials = _invented(seed, progress("inventing"))
            disk.write_text(files.truth, truth_csv(trials))
            _through_the_chain(at, trials, files.exports, progress, made)
    return files


def _invented(seed: int, progressed: Callable[[float], None]) -> list[InventedTrial]:
    count = len(plan_study(seed, PARTICIPANTS))
    trials: list[InventedTrial] = []
    for trial in invent(seed):
        trials.append(trial)
        progressed(len(trials) / count)
    return trials


def _through_the_chain(
    at: At, trials: list[InventedTrial], exports: Path, progress: Callable[[str], Callable[[float], None]], made: _Made
) -> None:
    session = at.session
    arrivals = [_arrival(trial) for trial in trials]
    at.wait(lambda **back: add_recordings(session, arrivals, **back), progress("writing recordings"))
    at.wait(lambda **back: mark(session, to_mark(session, again=False), **back), progress("marking"))
    at.wait(lambda **back: measure(session, stale_trials(session), **back), progress("measuring"))
    exported: Exported = at.wait(lambda **back: export(session, exports, **back), progress("exporting"))
    made.exports = exported.files
