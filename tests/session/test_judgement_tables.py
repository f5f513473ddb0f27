"""What the pages about quality and references show is what the exports say, and is made anew only where it changed."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import isnan
from pathlib import Path

import numpy as np
import pytest

from phasemark.model.clock import Alignment
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Source
from phasemark.model.study import Kind
from phasemark.model.study_edits import with_trial
from phasemark.results.quality_rows import quality_rows
from phasemark.results.reference_rows import attempt_rows, reference_rows
from phasemark.session.blinding import HIDDEN, set_blind
from phasemark.session.command_session import At, new_study, open_for_command
from phasemark.session.excluding import exclude
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.judgement_tables import JudgementTables, figure_text
from phasemark.session.judging import accept_findings, borrow_reference, choose_attempt
from phasemark.session.measuring import measure, stale_trials
from phasemark.signal.attempts import Attempt
from phasemark.signal.quality.finding import Check
from phasemark.signal.references import Stretch, best_two_apart

RATE, SHIFT = 1000, Fraction(1, 4)


def effort(seed: int, level: float, *, artefact: bool = False) -> Recording:
    """Noise of a level (mV) from 2 to 5 s of 8 s, with a slow wave of a second at 6 s where an artefact is wanted."""
    draw = np.random.default_rng(seed)
    times = np.arange(8 * RATE) / RATE
    values = draw.normal(size=len(times)) * np.where((times > 2) & (times < 5), level, 0.004)
    if artefact:
        values += np.where((times > 6) & (times < 7), 3 * np.sin(2 * np.pi * 4 * times), 0.0)
    angle = 40 - 40 * np.cos(2 * np.pi * times[::10] / 4)
    return Recording(
        (EmgChannel("quad", Fraction(RATE)), EmgChannel("ham", Fraction(RATE))),
        (values, 0.01 * draw.normal(size=len(times))),
        (MovementTrace("knee angle", Fraction(100), "deg", alignment=Alignment(SHIFT)),),
        (angle,),
        Source(f"made {seed}", "invented"),
    )


@pytest.fixture
def at(tmp_path: Path) -> Iterator[At]:
    """P01 with two MVIC trials and a set in session 1, and one MVIC trial in session 2; all is measured."""
    new_study(tmp_path / "study")
    with open_for_command(tmp_path / "study", print) as opened:
        kinds = ((Kind.MVIC, "1", 0.5), (Kind.MVIC, "1", 0.4), (Kind.TASK, "1", 0.2), (Kind.MVIC, "2", 0.6))
        arrivals = [
            Arrival(Description("P01", kind, f"{kind} of knee", session), recording=effort(n, level, artefact=n == 2))
            for n, (kind, session, level) in enumerate(kinds)
        ]
        opened.wait(lambda **back: add_recordings(opened.session, arrivals, **back), lambda _: None)
        measure_all(opened)
        yield opened


def measure_all(at: At) -> None:
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back), lambda _: None)


def test_every_check_of_the_exports_is_a_row(at: At) -> None:
    numbers = at.session.numbers()
    exported = sorted((r["trial"], r["check"], r["figure"], r["threshold"], r["sentence"], r["flagged"])
                      for r in quality_rows(numbers.study, numbers.facts))  # fmt: skip
    shown = sorted((r.trial, r.check, r.figure, r.threshold, r.sentence, r.flagged)
                   for r in JudgementTables(at.session).quality().rows)  # fmt: skip
    assert shown == exported
    assert any(r.flagged for r in JudgementTables(at.session).quality().rows)


def test_flagged_ones_come_first_and_decided_ones_after_them(at: At) -> None:
    tables = JudgementTables(at.session)
    flagged = [row for row in tables.quality().rows if row.flagged]
    first = next(row for row in flagged if row.channel is not None)
    emg = at.session.study.trial(first.trial).emg[first.channel or 0]
    accept_findings(at.session, [(first.trial, str(first.check), emg)], "seen")
    standing = [(row.to_decide, row.flagged) for row in tables.quality().rows]
    assert standing == sorted(standing, reverse=True)
    assert tables.quality().rows[len(flagged) - 1].key == first.key


def test_what_is_to_decide_is_counted_by_trial_until_it_is_decided(at: At) -> None:
    """Counted without the table, and the same as its rows; a trial with nothing left is not in it."""
    tables = JudgementTables(at.session)
    counted = tables.to_decide()
    assert counted == dict(Counter(row.trial for row in tables.quality().rows if row.to_decide))
    assert counted
    trial = at.session.study.trial(next(iter(counted)))
    exclude(at.session, trial, rep=None, channels=(), reason="seen")
    assert tables.to_decide() == {key: count for key, count in counted.items() if key != trial.id}
    set_blind(at.session, True)
    assert tables.to_decide() == {
        key: count for key, count in counted.items() if key != trial.id and at.session.study.trial(key).kind.holds_reps
    }


def test_the_artefact_lies_where_it_was_put(at: At) -> None:
    found = [row for row in JudgementTables(at.session).quality().rows
             if (row.trial, row.channel, row.check) == ("T003", 0, Check.ARTEFACT)]  # fmt: skip
    assert found[0].flagged
    begin, end = found[0].places[0]
    assert 5.5 <= begin <= 6.0
    assert 6.5 <= end <= 7.5


def test_tables_are_the_same_objects_until_something_of_them_changes(at: At) -> None:
    tables, session = JudgementTables(at.session), at.session
    quality, references, facts = tables.quality(), tables.references(), tables.facts()
    assert (tables.quality(), tables.references()) == (quality, references)
    assert tables.quality() is quality
    assert tables.references() is references
    session.edit("named", replace(session.study, name="other"))
    assert tables.facts() is facts
    assert tables.quality() is quality


def test_an_edit_of_one_trial_makes_only_its_rows_anew(at: At) -> None:
    tables, session = JudgementTables(at.session), at.session
    before = {row.key: row for row in tables.quality().rows}
    exclude(
        session, session.study.trial("T001"), rep=None, channels=(session.study.trial("T001").emg[0],), reason="off"
    )
    after = {row.key: row for row in tables.quality().rows}
    assert {key for key in after if after[key] is not before[key]} <= {key for key in after if key[0] == "T001"}
    assert all((row.excluded is not None) == (row.key[:2] == ("T001", 0)) for row in after.values())


def test_what_was_not_measured_as_it_is_now_is_said_and_has_no_rows(at: At) -> None:
    tables, session = JudgementTables(at.session), at.session
    trial = session.study.trial("T001")
    session.edit("kind", with_trial(session.study, replace(trial, kind=Kind.OTHER)))
    assert tables.quality().unmeasured == ("T001",)
    assert not [row for row in tables.quality().rows if row.trial == "T001"]
    measure_all(at)
    assert tables.quality().unmeasured == ()
    assert [row for row in tables.quality().rows if row.trial == "T001"]


def test_marking_blind_hides_who_and_what_and_how_strong(at: At) -> None:
    tables = JudgementTables(at.session)
    set_blind(at.session, True)
    rows = tables.quality().rows
    assert {row.name for row in rows} == {"Trial 1"}
    assert {row.trial for row in rows} == {"T003"}
    noise = [row for row in rows if row.check is Check.NOISE]
    assert noise
    assert all(isnan(row.figure) and row.sentence == HIDDEN for row in noise)
    assert tables.references().blind
    assert tables.references().rows == ()
    set_blind(at.session, False)
    assert tables.references().rows


def test_references_and_attempts_are_those_of_the_exports(at: At) -> None:
    numbers = at.session.numbers()
    shown = JudgementTables(at.session).references()
    assert [(r.whose.session, r.whose.muscle, r.rms) for r in shown.rows] == [
        (r["session"], r["muscle"], r["rms_mV"]) for r in reference_rows(numbers)
    ]
    assert [(a.trial, a.rms, a.begin_s, a.used) for r in shown.rows for a in r.attempts] == [
        (r["trial"], r["rms_mV"], r["begin_s"], r["used"]) for r in attempt_rows(numbers)
    ]
    assert shown.rows[0].rms == pytest.approx(0.5, rel=0.1)
    assert shown.rows[0].apart == pytest.approx(0.2, abs=0.08)


def test_a_choice_keeps_the_other_attempts_in_view(at: At) -> None:
    session = at.session
    choose_attempt(session, session.study.trial("T002"), session.study.trial("T002").emg[0], "steady")
    row = JudgementTables(session).references().rows[0]
    assert [(a.trial, a.number, a.used) for a in row.attempts] == [("T002", 1, True), ("T001", 2, False)]
    assert row.rms == pytest.approx(0.4, rel=0.1)
    assert row.decision is not None


def test_a_borrowed_reference_shows_where_it_is_from(at: At) -> None:
    session, emg = at.session, at.session.study.trial("T001").emg[0]
    first = JudgementTables(session).references().rows[0]
    assert first.sessions == ("2",)
    borrow_reference(session, "P01", "1", muscle=emg.muscle, side=emg.side, from_session="2", reason="no MVIC")
    row = JudgementTables(session).references().rows[0]
    assert [(a.session, a.used, a.choosable) for a in row.attempts] == [
        ("2", True, False), ("1", False, True), ("1", False, True)]  # fmt: skip
    assert row.rms == pytest.approx(0.6, rel=0.1)


def test_findings_are_accepted_as_one_edit_and_taken_back(at: At) -> None:
    session = at.session
    rows = [row for row in JudgementTables(session).quality().rows if row.channel is not None][:3]
    findings = [(r.trial, str(r.check), session.study.trial(r.trial).emg[r.channel or 0]) for r in rows]
    before = session.study
    assert accept_findings(session, findings, "seen")
    held = {row.key for row in JudgementTables(session).quality().rows if row.accepted is not None}
    assert {row.key for row in rows} <= held
    session.undo()
    assert session.study == before
    assert not accept_findings(session, [], "seen")


def test_best_two_leave_out_attempts_with_a_fault_that_nobody_accepted() -> None:
    attempts = [Attempt(rms, 0.8 * rms, 0, 100, 0, 100, 0.05, False, 0.5) for rms in (1.0, 0.9, 0.6)]
    fault = Stretch(10, 20, "clipping")
    assert best_two_apart(attempts) == pytest.approx(0.1)
    assert best_two_apart(attempts, [(), (fault,), ()]) == pytest.approx(0.4)
    assert best_two_apart(attempts, [(), (replace(fault, accepted=True),), ()]) == pytest.approx(0.1)
    assert best_two_apart(attempts[:1]) is None


def test_figures_have_three_digits_and_their_unit() -> None:
    texts = [figure_text(*of) for of in ((13.5712, "times"), (58.0, "%"), (float("nan"), "dB"))]
    assert texts == ["13.6 times", "58 %", "–"]
