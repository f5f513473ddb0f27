"""The demo study through the command that writes it, against the truth it is invented from."""

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from calling import Call

from phasemark.demo import InventedTrial, invent
from phasemark.model.errors import Cancelled
from phasemark.session import demo_study

pytestmark = pytest.mark.slow  # kept out of the fast loop

_PLACE = ["participant", "exercise", "set"]


def _boundaries(truth: pd.DataFrame) -> dict[tuple[object, ...], list[float]]:
    """Begin, two third lines and end (s) of each phase of each complete repetition, by its place and phase."""
    found: dict[tuple[object, ...], list[float]] = {}
    tasks = truth[(truth["complete"] == "yes") & truth["phase"].isin(["lowering", "raising"])]
    for key, rows in tasks.groupby([*_PLACE, "rep", "phase"]):
        thirds = rows[rows["third"] != "whole"][["begin_s", "end_s"]]
        found[key] = sorted({*thirds["begin_s"], *thirds["end_s"]})
    return found


def _marked(marks: pd.DataFrame) -> dict[tuple[object, ...], list[float]]:
    whole = marks[marks["complete"] == "yes"]
    return {key: sorted(rows["time_s"]) for key, rows in whole.groupby([*_PLACE, "rep", "phase"])}


def _assert_close_to_truth(folder: Path) -> str:
    """Compare the exports with the truth; gives the figures in words."""
    truth, marks = pd.read_csv(folder / "truth.csv"), pd.read_csv(folder / "exports" / "marks.csv")
    true, found = _boundaries(truth), _marked(marks)
    assert set(found) == set(true)  # every complete repetition and no other
    away = np.abs([np.subtract(found[key], true[key]) for key in true])
    ends, lines = away[:, [0, 3]], away[:, [1, 2]]
    assert np.median(ends) <= 0.05
    assert np.quantile(ends, 0.9) <= 0.20
    assert np.median(lines) <= 0.02

    key = [*_PLACE, "rep", "phase", "third", "muscle", "side"]
    segments = pd.read_csv(folder / "exports" / "segments.csv", low_memory=False)
    both = segments[segments["complete"] == "yes"].merge(truth, on=key, suffixes=("", "_true"))
    in_truth = ~segments["phase"].isin(["pause", "rep without pause"])
    assert len(both) == ((segments["complete"] == "yes") & in_truth).sum()
    ratio = (both["rms_mV"] / both["rms_mV_true"]).dropna()
    # The band-pass takes a few per cent of the power; short segments of noise scatter by their own sampling error.
    assert 0.95 < ratio.median() < 1.02
    assert ratio.between(0.75, 1.25).mean() > 0.9
    return (
        f"{len(true) // 2} repetitions; boundaries: median {np.median(ends):.3f} s, "
        f"90 % {np.quantile(ends, 0.9):.3f} s; "
        f"third lines: median {np.median(lines):.4f} s, 90 % {np.quantile(lines, 0.9):.4f} s; "
        f"RMS of {len(ratio)} segments by the true one: median {ratio.median():.3f}, "
        f"5 % to 95 % {ratio.quantile(0.05):.3f} to {ratio.quantile(0.95):.3f}"
    )


@pytest.fixture
def two_participants(monkeypatch: pytest.MonkeyPatch) -> None:
    def small(seed: int) -> Iterator[InventedTrial]:
        return invent(seed, participants=2)

    monkeypatch.setattr(demo_study, "invent", small)


@pytest.mark.usefixtures("two_participants")
def test_two_participants_come_close_to_the_truth(phasemark: Call, tmp_path: Path) -> None:
    """The command says where study, truth and exports are; what it measured is close to what was invented."""
    said = phasemark("demo", "--no-window", "--to", tmp_path / "demo")
    assert said.code == 0
    assert [line.split(": ")[1] for line in said.out.splitlines()] == [
        str(tmp_path / "demo" / name) for name in ("study", "truth.csv", "exports")
    ]
    figures = _assert_close_to_truth(tmp_path / "demo")
    assert phasemark("check", tmp_path / "demo" / "study").out == "Sound.\n"
    again = phasemark("demo", "--no-window", "--to", tmp_path / "demo")
    assert again.code == 2
    assert "is a study already" in again.sentence
    print(figures)


@pytest.mark.usefixtures("two_participants")
@pytest.mark.parametrize("stage", ["inventing", "writing recordings", "marking", "measuring", "exporting"])
def test_a_demo_that_is_stopped_leaves_what_was_there_before(tmp_path: Path, stage: str) -> None:
    """Folders and files of others beside it stay, whichever stage it was stopped in."""
    place = tmp_path / "mine" / "demo"
    (place / "exports").mkdir(parents=True)
    (place / "exports" / "notes.txt").write_text("mine", encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))

    def progress(title: str) -> Callable[[float], None]:
        def stop(_: float) -> None:
            if title == stage:
                raise Cancelled("Stopped.")

        return stop

    with pytest.raises(Cancelled):
        demo_study.write_demo(place, 1, print, progress)
    assert sorted(tmp_path.rglob("*")) == before
    with pytest.raises(Cancelled):
        demo_study.write_demo(tmp_path / "new" / "demo", 1, print, progress)
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.slow
def test_whole_demo_comes_close_to_the_truth(phasemark: Call, tmp_path: Path) -> None:
    """All twelve participants: every complete repetition, the thirds, and the RMS in each."""
    assert phasemark("demo", "--no-window", "--to", tmp_path / "demo").code == 0
    print(_assert_close_to_truth(tmp_path / "demo"))
