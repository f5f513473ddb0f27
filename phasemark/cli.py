"""The commands. Each is a thin layer over the session; where no Qt library can load they still run.

Exit codes: 0 done (warnings on stderr), 1 the data say no, 2 the call is wrong, 3 unforeseen.
"""

import argparse
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TextIO

from phasemark import cli_compare, cli_judging
from phasemark.cli_parser import parser
from phasemark.model.clock import rate_text, seconds
from phasemark.model.errors import BadCall, Cancelled, PhasemarkError, Unavailable
from phasemark.model.marks import DOUBTFUL
from phasemark.model.settings_text import settings_lines
from phasemark.model.study import Kind, Trial

Command = Callable[[argparse.Namespace], int]


def run(arguments: Sequence[str], open_window: Callable[[str | None], int]) -> int:
    """Run one command and give its exit code."""
    try:
        options = parser().parse_args(arguments)
    except SystemExit as asked:
        return _flushed(int(asked.code or 0))
    try:
        return _flushed(_command(options, open_window))
    except PhasemarkError as problem:
        _warn(str(problem))
        return _flushed(problem.exit_code)
    except KeyboardInterrupt:
        _warn("Stopped; what was done before is kept.")
        return 1
    except Exception:  # noqa: BLE001  the outermost border: anything else is a defect, and is shown whole
        traceback.print_exc()
        return 3


def _command(options: argparse.Namespace, open_window: Callable[[str | None], int]) -> int:
    if options.command is None:
        return open_window(None)
    if options.command == "demo":
        return _demo(options, open_window)
    return _COMMANDS[options.command](options)


def _write(stream: TextIO, text: str) -> None:
    try:
        print(text, file=stream)
    except BrokenPipeError:  # nobody reads on, as 'head' does not; the command itself goes on
        _silence(stream)
    except OSError as problem:
        _silence(stream)
        raise _unwritten(problem) from problem


def _silence(stream: TextIO) -> None:
    """Send what is still to come, and what could not be written, nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def _unwritten(problem: OSError) -> Unavailable:
    return Unavailable(f"What the command has to say cannot be written ({problem.strerror}); what it did is done.")


def _flushed(code: int) -> int:
    """The exit code, after all that was said is out."""
    if sys.stdout is None:
        return code
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        _silence(sys.stdout)
    except OSError as problem:
        _silence(sys.stdout)
        _warn(str(_unwritten(problem)))
        return code or 1
    return code


def _say(text: str) -> None:
    _write(sys.stdout, text)


def _warn(sentence: str) -> None:
    clear = f"\r{' ' * 60}\r" if sys.stderr.isatty() else ""  # what the progress has left on the line
    _write(sys.stderr, f"{clear}{sentence}")


def _progress(title: str) -> Callable[[float], None]:
    """Shows how far long work is, where somebody watches."""
    if not sys.stderr.isatty():
        return lambda _: None

    def show(share: float) -> None:
        end = "\n" if share >= 1 else ""
        print(f"\r{title} {share:4.0%}", end=end, file=sys.stderr, flush=True)

    return show


def _new(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import new_study

    _say(f"New study in {new_study(Path(options.study))}; add recordings with 'phasemark add'.")
    return 0


def _pairs(texts: Sequence[str], what: str, form: str = "NAME=VALUE") -> tuple[tuple[str, str], ...]:
    pairs: list[tuple[str, str]] = []
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            raise BadCall(f"{what} is given as {form}, not {text!r}.")
        if what == "A factor" and name.strip() in dict(pairs):
            raise BadCall(f"The factor {name.strip()} is given twice; give it one value.")
        pairs.append((name.strip(), value.strip()))
    return tuple(pairs)


def _add(options: argparse.Namespace) -> int:
    from phasemark.formats.mapping_json import read_mapping
    from phasemark.session.command_session import open_for_command
    from phasemark.session.descriptions import parse_load
    from phasemark.session.importing import Arrival, Description, add_recordings

    description = Description(
        options.participant,
        Kind(options.kind),
        options.exercise,
        options.session,
        options.set,
        options.order,
        parse_load(options.load),
        _pairs(options.factor, "A factor"),
    )
    mapping = read_mapping(options.columns) if options.columns else None
    arrivals = [Arrival(description, file, mapping) for file in options.files]
    with open_for_command(options.study, _warn) as at:
        trials = at.wait(lambda **back: add_recordings(at.session, arrivals, **back), _progress("adding"))
    for trial in trials:
        _say(f"{trial.id}: {trial.recording.source.file}, participant {trial.participant}, {trial_contents(trial)}")
        for note in trial.recording.notes:
            _warn(f"{trial.recording.source.file}: {note}")
    return 0


def trial_contents(trial: Trial) -> str:
    """What a recording holds, in words: a wrong rate or unit is seen at once."""
    rates = sorted({channel.rate for channel in trial.emg})
    parts = [f"{len(trial.emg)} EMG at {' and '.join(map(rate_text, rates))} Hz"] if trial.emg else []
    parts += [f"{trace.kind} at {rate_text(trace.rate)} Hz" for trace in trial.movement]
    return ", ".join((*parts, f"{seconds(trial.length, trial.clock):.2f} s"))


def _settings(options: argparse.Namespace) -> int:
    from phasemark.session.changing_settings import change_settings, marks_are_older, names_nowhere
    from phasemark.session.command_session import Need, open_for_command

    changes = _pairs(options.changes, "A setting", "KEY=VALUE")
    with open_for_command(options.study, _warn, need=Need.WRITE if changes else Need.READ) as at:
        before = at.session.study
        change_settings(at.session, changes)
        after = at.session.study
    for key, value in settings_lines(after):
        _say(f"{key}={value}")
    for sentence in names_nowhere(after, changes):
        _warn(sentence)
    if marks_are_older(before, after):
        _warn("The marks were made by the earlier settings; 'phasemark mark --again' makes them by these.")
    return 0


def _mark(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command
    from phasemark.session.marking import mark, to_mark

    with open_for_command(options.study, _warn, rater=options.rater, new_rater=True) as at:
        trials = to_mark(at.session, again=options.again)
        marked = at.wait(lambda **back: mark(at.session, trials, **back), _progress("marking"))
        study, rater = at.session.study, at.session.rater
    for trial_id in marked.trials:
        _tell_marks(study.trial(trial_id), rater)
    if not trials:
        _say("There is nothing to mark; 'phasemark mark --again' marks again what is marked.")
    return _left_out(marked.problems)


def _left_out(problems: Sequence[PhasemarkError]) -> int:
    """Say what was left out, and give the exit code of a command that did the rest."""
    for problem in problems:
        _warn(str(problem))
    return max((problem.exit_code for problem in problems), default=0)


def _tell_marks(trial: Trial, rater: str) -> None:
    marks = trial.marks_of(rater)
    numbers = marks.numbers()
    left = len(marks.reps) - len(numbers)
    also = f" and {left} incomplete" if left else ""
    reps = "1 repetition" if len(numbers) == 1 else f"{len(numbers)} repetitions"
    _say(f"{trial.id}: {reps}{also} ({trial.participant}, {trial.exercise or trial.kind})")
    if not marks.reps:
        where = "movement trace" if trial.movement else "muscle, as it has no movement trace"
        _warn(f"{trial.id}: nothing was found that could be a repetition; look at its first {where}.")
    for rep in marks.reps:
        if rep.doubt >= DOUBTFUL and rep.complete:
            _warn(f"{trial.id}, repetition {numbers[rep.id]}: {'; '.join(rep.doubts)}")


def _exclude(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command
    from phasemark.session.excluding import channels_named, exclude, rep_numbered
    from phasemark.session.session import known_trial

    with open_for_command(options.study, _warn, rater=options.rater) as at:
        trial = known_trial(at.session.study, options.trial)
        rep = None if options.rep is None else rep_numbered(at.session, trial, options.rep)
        channels = channels_named(trial, options.muscle, options.side) if options.muscle else ()
        if options.side and not options.muscle:
            raise BadCall("--side belongs to --muscle; name the muscle too.")
        reason = None if options.take_back else options.reason
        changed = exclude(at.session, trial, rep=rep, channels=channels, reason=reason)
    _say("Done." if changed else "Nothing changed.")
    return 0


def _remove(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command
    from phasemark.session.removing import remove
    from phasemark.session.session import known_trial

    with open_for_command(options.study, _warn) as at:
        trial = known_trial(at.session.study, options.trial)
        remove(at.session, trial, options.reason)
    _say(f"Removed {trial.id}; its recording stays in {trial.recording.path}.")
    return 0


def _measure(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command
    from phasemark.session.measuring import has_segments, measure, stale_trials

    with open_for_command(options.study, _warn, rater=options.rater) as at:
        stale = stale_trials(at.session)
        measured = at.wait(lambda **back: measure(at.session, stale, **back), _progress("measuring"))
        study, rater = at.session.study, at.session.rater
        marked = any(has_segments(study, trial, rater) for trial in study.trials)
    if stale:
        _say(f"Measured {measured.count} trial{'' if measured.count == 1 else 's'}.")
    else:
        _say("All results are current." if marked else "Nothing is marked yet; 'phasemark mark' comes first.")
    return _left_out(measured.problems)


def _export(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import Need, open_for_command
    from phasemark.session.exporting import export
    from phasemark.session.marking import to_mark

    with open_for_command(options.study, _warn, need=Need.WRITE_IF_POSSIBLE, rater=options.rater) as at:
        exported = at.wait(
            lambda **back: export(at.session, options.to, curves=options.curves, **back), _progress("exporting")
        )
        unmarked = to_mark(at.session, again=False)
    _say(f"Wrote {len(exported.files)} files to {options.to}.")
    if unmarked:
        _warn(f"{len(unmarked)} trials have no marks and so no segments; 'phasemark mark' comes first.")
    return _left_out(exported.problems)


def _demo(options: argparse.Namespace, open_window: Callable[[str | None], int]) -> int:
    from phasemark.session.demo_study import write_demo

    try:
        made = write_demo(options.to, options.seed, _warn, _progress)
    except KeyboardInterrupt:
        raise Cancelled("Stopped; what there was of the demo study is removed.") from None
    _say(f"Demo study: {made.study}\nIts truth: {made.truth}\nIts exports: {made.exports}")
    if not options.no_window:
        open_window(str(made.study))  # where there is no screen it says so; the study is written all the same
    return 0


def _check(options: argparse.Namespace) -> int:
    from phasemark.store.check import check

    problems = check(Path(options.study))
    for problem in problems:
        _say(problem)
    if not problems:
        _say("Sound.")
    return 1 if problems else 0


_COMMANDS: dict[str, Command] = {
    "new": _new,
    "add": _add,
    "settings": _settings,
    "mark": _mark,
    "exclude": _exclude,
    "remove": _remove,
    "measure": _measure,
    "export": _export,
    "check": _check,
    "quality": lambda options: cli_judging.quality(options, _say, _warn, _progress),
    "references": lambda options: cli_judging.references(options, _say, _warn, _progress),
    "accept": lambda options: cli_judging.accept(options, _say, _warn),
    "plan": lambda options: cli_compare.plan(options, _say, _warn, _pairs(options.changes, "A plan", "KEY=VALUE")),
    "compare": lambda options: cli_compare.compare(options, _say, _warn, _progress),
    "interval": lambda options: cli_judging.interval(options, _say, _warn),
    "reference": lambda options: cli_judging.reference(options, _say, _warn),
}
