"""Exporting: what is stale is measured first, then every file is written whole."""

import platform
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import h5py
import numpy
import scipy

from phasemark.model.errors import BadCall, PhasemarkError, Unavailable
from phasemark.results.curve_files import curve_files
from phasemark.results.exports import export_texts
from phasemark.results.phase_curves import StudyCurves
from phasemark.session.curves import KeptCurves, load_curves
from phasemark.session.measuring import Measured, measure, missing_holds, stale_trials
from phasemark.session.session import Session
from phasemark.store import disk
from phasemark.store.reasons import sentence
from phasemark.worker import JobChain, Progress


def libraries() -> dict[str, str]:
    """What the numbers were computed with."""
    return {
        "python": platform.python_version(),
        "numpy": numpy.__version__,
        "scipy": scipy.__version__,
        "h5py": h5py.__version__,
    }


@dataclass(frozen=True, slots=True)
class Exported:
    """The files that were written, and what was wrong with trials that are missing in them."""

    files: tuple[Path, ...]
    problems: tuple[PhasemarkError, ...] = ()


def refuse_file(to: Path) -> None:
    """Refuse a place to export to that is a file (BadCall), or cannot be looked at (Unavailable)."""
    try:
        is_file = to.exists() and not to.is_dir()
    except OSError as problem:
        raise Unavailable(sentence(to, "written", problem)) from problem
    if is_file:
        raise BadCall(f"{to} is a file; name a folder to export to.")


def export(
    session: Session,
    to: Path,
    *,
    curves: bool = False,
    done: Callable[[Exported], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> JobChain:
    """Write the exports of the study into a folder; done gets the files written, and the ledger says so.

    A study that cannot be written is measured all the same, where that is needed; the results are then not kept.
    Where it is stopped no file is written at all. curves: with mean curves over each phase, as tables and pictures.
    failed gets BadCall where the place is a file.
    """
    chain, worker = JobChain(), session.worker
    measured_at = 0.5 if curves else 0.8

    said: list[PhasemarkError] = []

    def measure_stale(_: None) -> None:
        stale = stale_trials(session)
        measured_now = {trial.id for trial in stale}  # measuring says it of these
        said.extend(missing_holds(session, (t for t in session.study.trials if t.id not in measured_now)))
        if stale:
            chain.go_on_with(
                measure(
                    session, stale, done=write, failed=failed, progressed=lambda share: progressed(measured_at * share)
                )
            )
        else:
            write(Measured(0))

    def write(measured: Measured) -> None:
        if not curves:
            put(measured, None)
            return

        def with_curves(found: StudyCurves, wrong: tuple[PhasemarkError, ...]) -> None:
            problems = {str(problem): problem for problem in (*measured.problems, *wrong)}
            put(Measured(measured.count, tuple(problems.values())), found)

        chain.go_on_with(
            load_curves(
                session,
                KeptCurves(),
                done=with_curves,
                failed=failed,
                progressed=lambda share: progressed(measured_at + (0.8 - measured_at) * share),
            )
        )

    def put(measured: Measured, found: StudyCurves | None) -> None:
        numbers = session.numbers()

        def on_disk(progress: Progress) -> Exported:
            texts = export_texts(numbers, libraries()) | ({} if found is None else curve_files(found))
            progress(0.8)
            disk.make_folder(to)
            files = {to / name: text for name, text in texts.items()}
            disk.write_together(files, lambda written: progress(0.8 + 0.2 * written / len(files)))
            return Exported(tuple(files), (*measured.problems, *said))

        chain.go_on_with(
            worker.run("exporting", on_disk, on=worker.disk, done=keep, failed=failed, progressed=progressed)
        )

    def keep(exported: Exported) -> None:
        session.note(f"exported {len(exported.files)} files to the folder {to.absolute().name}")
        done(exported)

    chain.go_on_with(
        worker.run("exporting", lambda _: refuse_file(to), on=worker.disk, done=measure_stale, failed=failed)
    )
    return chain
