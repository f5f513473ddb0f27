"""The demo study: invented, written as a study of its own, marked, measured and exported, its truth beside it."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from phasemark.demo import DEMO_NAME, InventedTrial, invent, truth_csv
from phasemark.session.command_session import At, new_study, open_for_command
from phasemark.session.exporting import export
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.marking import mark, to_mark
from phasemark.session.measuring import measure, stale_trials
from phasemark.store import disk


@dataclass(frozen=True, slots=True)
class DemoFiles:
    """Where the demo study, its truth and its exports were written."""

    study: Path
    truth: Path
    exports: Path


def _arrival(trial: InventedTrial) -> Arrival:
    description = Description(
        trial.participant, trial.kind, trial.exercise, trial.session, trial.set, trial.order, trial.load, trial.factors
    )
    return Arrival(description, recording=trial.recording)


def write_demo(
    to: Path | None, seed: int, tell: Callable[[str], None], progress: Callable[[str], Callable[[float], None]]
) -> DemoFiles:
    """Invent the study and take it through the whole chain; the same seed gives the same study.

    to is a folder for all three (default: a folder named after the demo in the current one).

    Raises:
        BadCall: there is a study already in the place.
    """
    place = to or Path(DEMO_NAME)
    files = DemoFiles(place / "study", place / "truth.csv", place / "exports")
    new_study(files.study)
    with open_for_command(files.study, tell) as at:
        trials = list(invent(seed))
        disk.write_text(files.truth, truth_csv(trials))
        _through_the_chain(at, trials, files.exports, progress)
    return files


def _through_the_chain(
    at: At, trials: list[InventedTrial], exports: Path, progress: Callable[[str], Callable[[float], None]]
) -> None:
    session = at.session
    arrivals = [_arrival(trial) for trial in trials]
    at.wait(lambda **back: add_recordings(session, arrivals, **back), progress("writing recordings"))
    at.wait(lambda **back: mark(session, to_mark(session, again=False), **back), progress("marking"))
    at.wait(lambda **back: measure(session, stale_trials(session), **back), progress("measuring"))
    at.wait(lambda **back: export(session, exports, **back), progress("exporting"))
