"""Whatever a study holds, it is marked, measured and exported without a fault; every number is finite or empty."""

import csv
import math
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from small_study import Open, new

from phasemark.model.intervals import Interval, Purpose
from phasemark.model.normalisation import Approach, NormalisationSettings, ReferenceRule
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Side, Source, Treatment
from phasemark.model.settings import BaselineSettings, FilterSettings, MuscleRatio, Settings
from phasemark.model.study import Exercise, Kind
from phasemark.model.study_edits import with_exercise, with_interval, with_settings
from phasemark.session.exporting import export
from phasemark.session.importing import Arrival, Description
from phasemark.session.marking import mark, to_mark

Values = NDArray[np.float64]
MUSCLES = ("vastus medialis", "rectus femoris", "soleus")
SIGNALS: dict[str, Callable[[int, np.random.Generator], Values]] = {
    "noise": lambda n, draw: draw.normal(0, 0.2, n),
    "bursts": lambda n, draw: draw.normal(0, 0.2, n) * (np.arange(n) % max(n // 3, 1) > n // 6),
    "all missing": lambda n, draw: np.full(n, np.nan),
    "half missing": lambda n, draw: np.where(np.arange(n) < n // 2, np.nan, draw.normal(0, 0.2, n)),
    "holes": lambda n, draw: np.where(draw.uniform(size=n) < 0.05, np.nan, draw.normal(0, 0.2, n)),
    "zeros": lambda n, draw: np.zeros(n),
    "constant": lambda n, draw: np.full(n, 3.25),
    "huge": lambda n, draw: draw.normal(0, 1e6, n),
    "tiny": lambda n, draw: draw.normal(0, 1e-9, n),
    "clipped": lambda n, draw: np.clip(draw.normal(0, 1, n), -0.3, 0.3),
    "infinite": lambda n, draw: np.where(np.arange(n) == n // 2, np.inf, draw.normal(0, 0.2, n)),
    "one spike": lambda n, draw: np.where(np.arange(n) == n // 2, 1e4, draw.normal(0, 0.01, n)),
}  # fmt: skip
MOVEMENTS: dict[str, Callable[[int], Values]] = {
    "squats": lambda n: 0.5 + 0.5 * np.cos(2 * np.pi * np.arange(n) / max(n / 4, 1)),
    "still": np.ones,
    "all missing": lambda n: np.full(n, np.nan),
}


@st.composite
def recordings(draw: st.DrawFn) -> Recording:
    """Short recordings of up to three channels at rates of their own, with or without a movement trace."""
    seconds = draw(st.sampled_from([0.2, 0.7, 3.0, 6.0]))
    random = np.random.default_rng(draw(st.integers(0, 99)))
    emg, values = [], []
    for place in range(draw(st.integers(0, 3))):
        rate = Fraction(draw(st.sampled_from(["100", "1000", "1500", "1111.11", "2000"])))
        treatment = draw(st.sampled_from([Treatment.RAW, Treatment.RAW, Treatment.RECTIFIED]))
        unit = draw(st.sampled_from(["mV", "uV"]))
        made = SIGNALS[draw(st.sampled_from(sorted(SIGNALS)))](max(1, round(seconds * rate)), random)
        emg.append(EmgChannel(MUSCLES[place], rate, Side.LEFT, unit, treatment=treatment))
        values.append(np.abs(made) if treatment is Treatment.RECTIFIED else made)
    moves = draw(st.sampled_from(["", "squats", "squats", *MOVEMENTS])) or ("" if emg else "squats")
    traces = (MovementTrace("bar height", Fraction(50), "m"),) if moves else ()
    heights = (MOVEMENTS[moves](max(2, round(seconds * 50))),) if moves else ()
    return Recording(tuple(emg), tuple(values), traces, heights, Source("invented.txt", "invented"))


@st.composite
def trials(draw: st.DrawFn) -> tuple[Recording, dict[str, Any]]:
    facts = {
        "kind": draw(st.sampled_from(list(Kind))),
        "exercise": draw(st.sampled_from(["squat", "plank", "lunge"])),
        "session": draw(st.sampled_from(["1", "1", "2"])),
    }
    return draw(recordings()), facts


WIDE = Settings(filter=FilterSettings(lowpass_hz=None))
FILTERS = st.sampled_from(
    [
        FilterSettings(),  # refused at 100 Hz: such a trial is left out, and said
        FilterSettings(lowpass_hz=40.0),
        FilterSettings(highpass_hz=None, lowpass_hz=None),
        FilterSettings(highpass_hz=None, lowpass_hz=None, remove_offset=False),
        FilterSettings(lowpass_hz=400.0, notch_hz=50.0, notch_harmonics=3),
        FilterSettings(lowpass_hz=400.0, ecg_template=True),
    ]
)
NORMALISATIONS = st.builds(
    NormalisationSettings,
    approach=st.sampled_from(list(Approach)),
    rule=st.sampled_from(list(ReferenceRule)),
    window_s=st.sampled_from([0.05, 0.5, 30.0]),
    plateau_s=st.sampled_from([0.1, 1.0]),
    per_exercise=st.booleans(),
)


def _numbers(text: str) -> list[tuple[int, str, str]]:
    """The cells of a table that are no finite number though they look like one."""
    return [
        (line, title, cell)
        for line, row in enumerate(csv.DictReader(text.splitlines()), start=2)
        for title, cell in row.items()
        if cell and _float(cell) is not None and not math.isfinite(_float(cell) or 0.0)
    ]


def _float(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def _exported(at: Open, to: Path) -> tuple[dict[str, str], tuple[str, ...]]:
    done = at.wait(lambda **back: export(at.session, to, **back))
    texts = {file.name: file.read_text(encoding="utf-8-sig") for file in done.files if file.suffix == ".csv"}
    return texts, tuple(str(problem) for problem in done.problems)


def _sound(texts: dict[str, str]) -> None:
    assert {"segments.csv", "marks.csv", "quality.csv", "references.csv", "attempts.csv"} <= set(texts)
    for name, text in texts.items():
        assert not _numbers(text), name


@pytest.mark.slow
@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
)
@given(
    made=st.lists(trials(), min_size=1, max_size=4),
    filters=FILTERS,
    normalisation=NORMALISATIONS,
    subtract=st.booleans(),
    isometric=st.booleans(),
    marked=st.booleans(),
)
def test_any_small_study_is_measured_and_exported(
    *,
    tmp_path_factory: pytest.TempPathFactory,
    made: list[tuple[Recording, dict[str, Any]]],
    filters: FilterSettings,
    normalisation: NormalisationSettings,
    subtract: bool,
    isometric: bool,
    marked: bool,
) -> None:
    folder = tmp_path_factory.mktemp("any")
    at = new(folder / "study")
    try:
        at.session.edit("no low-pass", with_settings(at.study, WIDE))  # a filter that does not fit lets nothing in
        at.add(*(Arrival(Description("P01", **facts), recording=recording) for recording, facts in made))
        chosen = Settings(
            filter=filters,
            normalisation=normalisation,
            baseline=BaselineSettings(subtract),
            ratios=(MuscleRatio(MUSCLES[0], MUSCLES[1]),),
        )
        study = with_exercise(with_settings(at.study, chosen), Exercise("plank", isometric=isometric))
        for trial in study.trials[:1]:
            for purpose in Purpose:
                interval = Interval(purpose, 0, max(1, trial.length // 2), at.session.decision("looked at it"))
                study = with_interval(study, trial.id, interval) if trial.length else study
        at.session.edit("settings", study)
        if marked:
            at.wait(lambda **back: mark(at.session, to_mark(at.session, again=False), **back))
        texts, problems = _exported(at, folder / "out")
        _sound(texts)
        again, said = _exported(at, folder / "again")  # from what was kept
        assert (again, said) == (texts, problems)
    finally:
        at.session.close()


def _study(folder: Path, *of: tuple[Recording, dict[str, Any]], chosen: Settings | None = None) -> Open:
    at = new(folder / "study")
    at.session.edit("no low-pass", with_settings(at.study, WIDE))
    at.add(*(Arrival(Description("P01", **{"exercise": "squat", **facts}), recording=made) for made, facts in of))
    at.session.edit("settings", with_settings(at.study, chosen or Settings()))
    return at


def _recording(seconds: float, *signals: str, rates: tuple[str, ...] = (), moves: str = "") -> Recording:
    random = np.random.default_rng(5)
    all_rates = [Fraction(rate) for rate in (*rates, *["2000"] * (len(signals) - len(rates)))]
    emg = tuple(EmgChannel(name, rate, Side.LEFT) for name, rate in zip(MUSCLES, all_rates, strict=False))
    values = tuple(SIGNALS[kind](round(seconds * rate), random) for kind, rate in zip(signals, all_rates, strict=True))
    traces = (MovementTrace("bar height", Fraction(50), "m"),) if moves else ()
    return Recording(
        emg,
        values,
        traces,
        (MOVEMENTS[moves](round(seconds * 50)),) if moves else (),
        Source("invented.txt", "invented"),
    )


SQUATS = (_recording(9.0, "noise", "noise", moves="squats"), {})
STATES: dict[str, tuple[list[tuple[Recording, dict[str, Any]]], Settings | None]] = {
    "nothing": ([], None),
    "no EMG": ([(_recording(9.0, moves="squats"), {})], None),
    "no movement": ([(_recording(9.0, "bursts"), {})], None),
    "quiet trial only": ([(_recording(9.0, "noise"), {"kind": Kind.QUIET})], None),
    "MVIC of 0.2 s": ([SQUATS, (_recording(0.2, "noise", "noise"), {"kind": Kind.MVIC})], None),
    "channel all missing": ([(_recording(9.0, "noise", "all missing", moves="squats"), {})], None),
    "MVIC all missing": ([SQUATS, (_recording(9.0, "all missing", "noise"), {"kind": Kind.MVIC})], None),
    "EMG at 100 Hz, filters that fit": (
        [(_recording(9.0, "noise", rates=("100",), moves="squats"), {})],
        Settings(filter=FilterSettings(lowpass_hz=40.0)),
    ),
    "mixed rates": ([(_recording(9.0, *["noise"] * 3, rates=("2000", "1111.11", "1000"), moves="squats"), {})], None),
}


@pytest.mark.parametrize("state", STATES)
def test_a_study_in_an_unusual_state_is_measured_and_exported(state: str, tmp_path: Path) -> None:
    made, chosen = STATES[state]
    at = _study(tmp_path, *made, chosen=chosen)
    try:
        at.mark()
        texts, problems = _exported(at, tmp_path / "out")
        assert problems == ()
        _sound(texts)
        rows = list(csv.DictReader(texts["segments.csv"].splitlines()))
        measured = state not in ("nothing", "no EMG", "quiet trial only")
        assert bool(rows) is measured
        assert any(row["rms_mV"] for row in rows) is measured
        if state == "MVIC of 0.2 s":
            assert {row["rms_percent"] for row in rows} == {""}
            assert "There is no reference" in texts["references.csv"] or "no value" in texts["references.csv"]
        if state == "MVIC all missing":
            percents = {row["muscle"]: bool(row["rms_percent"]) for row in rows}
            assert percents == {"vastus medialis": False, "rectus femoris": True}
    finally:
        at.session.close()


def test_a_filter_that_does_not_fit_leaves_its_trial_out_and_says_so(tmp_path: Path) -> None:
    slow = (replace(_recording(9.0, "noise", rates=("100",), moves="squats")), {})
    at = _study(tmp_path, SQUATS, slow)
    try:
        at.mark()
        texts, problems = _exported(at, tmp_path / "out")
        assert len(problems) == 1
        assert "The low-pass at 450 Hz does not fit vastus medialis (left), sampled at 100 Hz" in problems[0]
        assert {row["trial"] for row in csv.DictReader(texts["segments.csv"].splitlines())} == {"T001"}
    finally:
        at.session.close()


def test_a_trial_without_movement_is_marked_where_an_interval_was_placed_in_it(tmp_path: Path) -> None:
    """Found by the study of any kind above: two muscles, no movement trace, a baseline placed by hand."""
    at = _study(tmp_path, (_recording(9.0, "bursts", "noise", rates=("1000", "2000")), {}))
    try:
        interval = Interval(Purpose.BASELINE, 0, at.study.trials[0].length, at.session.decision("rest"))
        at.session.edit("baseline", with_interval(at.study, "T001", interval))
        assert at.mark() == ("T001",)
        assert at.study.trials[0].marks[0].reps
    finally:
        at.session.close()
