"""A comparison into a folder: tables and scripts, and every picture at a journal's column widths."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from phasemark.results.figures.curves_figure import curves_figure
from phasemark.results.figures.description import Figure
from phasemark.results.figures.layout import DOUBLE_MM, SINGLE_MM, laid_out, paged
from phasemark.results.figures.paired_figure import paired_figure
from phasemark.results.phase_curves import Over, StudyCurves
from phasemark.results.robustness.picture import robustness_picture
from phasemark.results.robustness.report import Robustness
from phasemark.session.comparing import Compared, write_comparison
from phasemark.session.robustness_job import write_robustness
from phasemark.session.saving_pictures import save_pictures
from phasemark.session.session import Session
from phasemark.window.pictures.picture_files import SUFFIXES, file_bytes
from phasemark.worker import JobChain, Progress

MOST_HIGH_MM = 230.0
"""Height of a journal's page within its margins (common practice, no source)."""
FIGURES = "figures"
_TABLES = 0.1


@dataclass(frozen=True, slots=True)
class Further:
    """What was worked out on demand, and is written as well; None where it was not."""

    curves: StudyCurves | None = None
    robustness: Robustness | None = None


def named_figures(compared: Compared, further: Further) -> dict[str, Figure]:
    """The pictures of a comparison by the names of their files."""
    comparison, curves = compared.report.comparison, further.curves
    found = {"paired-values": paired_figure(comparison)}
    if curves is not None and curves.people:
        levels = comparison.plan.a, comparison.plan.b
        found["mean-curves"] = curves_figure(curves, levels)
        if any(key.over is Over.RANGE for key in curves.people):
            found["mean-curves-over-range"] = curves_figure(curves, levels, Over.RANGE)
    if further.robustness is not None:
        found["robustness"] = robustness_picture(further.robustness)
    return found


def picture_pages(figures: dict[str, Figure]) -> Iterator[tuple[str, Figure, float]]:
    """Every page to be written: its name without an ending, what is on it, and its width (mm)."""
    for name, figure in figures.items():
        for width in (SINGLE_MM, DOUBLE_MM):
            pages = paged(figure, width, MOST_HIGH_MM)
            for number, page in enumerate(pages, start=1):
                of_many = f"-{number}" if len(pages) > 1 else ""
                yield f"{name}-{width:g}mm{of_many}", page, width


def export_comparison(
    session: Session,
    compared: Compared,
    further: Further,
    folder: Path,
    *,
    done: Callable[[tuple[Path, ...]], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> JobChain:
    """Write what is shown, worked out already, into a folder; done gets all files."""
    chain, worker, numbers = JobChain(), session.worker, session.numbers()

    def write_tables(_: Progress) -> tuple[Path, ...]:
        tables = write_comparison(numbers, compared, folder)
        return tables if further.robustness is None else (*tables, *write_robustness(further.robustness, folder))

    def paint(progress: Progress) -> dict[Path, bytes]:
        pages = list(picture_pages(named_figures(compared, further)))
        files: dict[Path, bytes] = {}
        for number, (name, page, width) in enumerate(pages):
            drawing = laid_out(page, width)
            for suffix in SUFFIXES:
                progress(_TABLES + (1 - _TABLES) * number / len(pages))
                files[folder / FIGURES / f"{name}{suffix}"] = file_bytes(drawing, suffix)
        return files

    def tables_written(tables: tuple[Path, ...]) -> None:
        def painted(files: dict[Path, bytes]) -> None:
            chain.go_on_with(save_pictures(session, files, done=lambda saved: done((*tables, *saved)), failed=failed))

        chain.go_on_with(
            worker.run(
                "painting pictures", paint, on=worker.compute, done=painted, failed=failed, progressed=progressed
            )
        )

    chain.go_on_with(
        worker.run(
            "writing tables",
            write_tables,
            on=worker.disk,
            done=tables_written,
            failed=failed,
        )
    )
    return chain
