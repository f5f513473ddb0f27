"""The commands. Each is a thin layer over the session; where no Qt library can load they still run.

Exit codes: 0 done (warnings on stderr), 1 the data say no, 2 the call is wrong, 3 unforeseen.
"""

import argparse
import sys
import traceback
from collections.abc import Callable, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path

from phasemark import __version__
from phasemark.model.errors import BadCall, PhasemarkError
from phasemark.model.settings_text import settings_lines, with_setting
from phasemark.model.study import Kind, Load

Command = Callable[[argparse.Namespace], int]


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="phasemark",
        description="Cuts surface EMG of exercises into repetitions, phases and thirds, and measures EMG amplitude in "
        "each. Without a command it opens the window.",
    )
    parser.add_argument("--version", action="version", version=f"phasemark {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    new = commands.add_parser("new", help="make an empty study folder")
    new.add_argument("study", metavar="STUDY")

    _add_parser(commands.add_parser("add", help="add recordings to a study"))

    settings = commands.add_parser("settings", help="show the settings of a study, or change some")
    settings.add_argument("study", metavar="STUDY")
    settings.add_argument("changes", metavar="KEY=VALUE", nargs="*")

    mark = commands.add_parser("mark", help="mark repetitions, phases and thirds where a hand has not been")
    mark.add_argument("study", metavar="STUDY")
    mark.add_argument("--again", action="store_true", help="also trials that are marked; what a hand placed stays")

    exclude = commands.add_parser("exclude", help="take a trial, a repetition or a muscle out of the means")
    exclude.add_argument("study", metavar="STUDY")
    exclude.add_argument("--trial", required=True, metavar="T")
    exclude.add_argument("--rep", type=int, metavar="N", help="number among the complete repetitions")
    exclude.add_argument("--muscle", metavar="M")
    exclude.add_argument("--side", choices=["left", "right", "none"])
    why = exclude.add_mutually_exclusive_group(required=True)
    why.add_argument("--reason", metavar="TEXT")
    why.add_argument("--take-back", action="store_true", help="undo an earlier exclusion")

    measure = commands.add_parser("measure", help="measure EMG amplitude per phase and third")
    measure.add_argument("study", metavar="STUDY")

    export = commands.add_parser("export", help="write segments, summaries, marks and settings")
    export.add_argument("study", metavar="STUDY")
    export.add_argument("--to", required=True, metavar="DIR", type=Path)

    demo = commands.add_parser("demo", help="write an invented study, mark, measure and export it, and open it")
    demo.add_argument("--to", metavar="DIR", type=Path)
    demo.add_argument("--no-window", action="store_true")
    demo.add_argument("--seed", type=int, default=1, metavar="N", help="another invented study")

    check = commands.add_parser("check", help="check the files of a study; exit code 1 and a list if not sound")
    check.add_argument("study", metavar="STUDY")
    for name in ("mark", "exclude", "measure", "export"):
        commands.choices[name].add_argument("--rater", metavar="R", default="", help="whose marks (default: R1)")
    return parser


def _add_parser(add: argparse.ArgumentParser) -> None:
    add.add_argument("study", metavar="STUDY")
    add.add_argument("files", metavar="FILE", nargs="+", type=Path)
    add.add_argument("--participant", required=True, metavar="P01")
    add.add_argument("--exercise", default="", metavar="NAME")
    add.add_argument("--kind", choices=[str(kind) for kind in Kind], default=str(Kind.TASK))
    add.add_argument("--session", default="1", metavar="S")
    add.add_argument("--set", type=int, metavar="N")
    add.add_argument("--order", type=int, metavar="N")
    add.add_argument("--load", metavar="'60 kg'")
    add.add_argument("--factor", action="append", default=[], metavar="NAME=VALUE")
    add.add_argument("--columns", type=Path, metavar="MAP.json")


def run(arguments: Sequence[str], open_window: Callable[[str | None], int]) -> int:
    """Run one command and give its exit code."""
    try:
        options = _parser().parse_args(arguments)
    except SystemExit as asked:
        return int(asked.code or 0)
    try:
        if options.command is None:
            return open_window(None)
        if options.command == "demo":
            return _demo(options, open_window)
        return _COMMANDS[options.command](options)
    except PhasemarkError as problem:
        print(problem, file=sys.stderr)
        return problem.exit_code
    except KeyboardInterrupt:
        print("Stopped; what was done before is kept.", file=sys.stderr)
        return 1
    except Exception:  # noqa: BLE001  the outermost border: anything else is a defect, and is shown whole
        traceback.print_exc()
        return 3


def _progress(title: str) -> Callable[[float], None]:
    """Shows how far long work is, where somebody watches."""
    if not sys.stderr.isatty():
        return lambda _: None

    def show(share: float) -> None:
        end = "\n" if share >= 1 else ""
        print(f"\r{title} {share:4.0%}", end=end, file=sys.stderr, flush=True)

    return show


def _warn(sentence: str) -> None:
    print(sentence, file=sys.stderr)


def _new(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import new_study

    print(f"New study in {new_study(Path(options.study))}; add recordings with 'phasemark add'.")
    return 0


def parse_load(text: str | None) -> Load | None:
    """A load from its text: a number and its unit ('60 kg').

    Raises:
        BadCall: it does not begin with a number.
    """
    if text is None or not text.strip():
        return None
    number, _, unit = text.strip().replace(",", ".", 1).partition(" ")
    try:
        value = Decimal(number)
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite():
        raise BadCall(f"A load is a number and its unit, such as '60 kg', not {text!r}.")
    return Load(value, unit.strip())


def _pairs(texts: Sequence[str], what: str) -> tuple[tuple[str, str], ...]:
    pairs = []
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            raise BadCall(f"{what} is given as NAME=VALUE, not {text!r}.")
        pairs.append((name.strip(), value.strip()))
    return tuple(pairs)


def _add(options: argparse.Namespace) -> int:
    from phasemark.formats.mapping_json import read_mapping
    from phasemark.session.command_session import open_for_command
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
        print(f"{trial.id}: {trial.recording.source.file}, participant {trial.participant}")
        for note in trial.recording.notes:
            _warn(f"{trial.recording.source.file}: {note}")
    return 0


def _settings(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command

    with open_for_command(options.study, _warn, write=bool(options.changes)) as at:
        study = at.session.study
        for key, value in _pairs(options.changes, "A setting"):
            study = with_setting(study, key, value)
        at.session.edit(f"settings: {', '.join(options.changes)}", study)
        for key, value in settings_lines(at.session.study):
            print(f"{key}={value}")
    return 0


def _mark(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command
    from phasemark.session.marking import mark, to_mark

    with open_for_command(options.study, _warn, rater=options.rater, new_rater=True) as at:
        trials = to_mark(at.session, again=options.again)
        marked = at.wait(lambda **back: mark(at.session, trials, **back), _progress("marking"))
        for trial_id in marked:
            trial = at.session.study.trial(trial_id)
            marks = trial.marks_of(at.session.rater)
            left = sum(not rep.complete for rep in marks.reps)
            also = f" and {left} incomplete" if left else ""
            print(f"{trial_id}: {len(marks.numbers())} repetitions{also} ({trial.participant}, {trial.exercise})")
            for rep in marks.reps:
                if rep.doubt >= DOUBT_TO_TELL and rep.complete:
                    _warn(f"{trial_id}, repetition {marks.numbers()[rep.id]}: {'; '.join(rep.doubts)}")
    return 0


# Doubts from here on are worth a line on stderr; smaller ones are in marks.csv.
DOUBT_TO_TELL = 0.5


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
    print("Done." if changed else "Nothing changed.")
    return 0


def _measure(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command
    from phasemark.session.measuring import measure, stale_trials

    with open_for_command(options.study, _warn, rater=options.rater) as at:
        stale = stale_trials(at.session)
        count = at.wait(lambda **back: measure(at.session, stale, **back), _progress("measuring"))
        print(f"Measured {count} trials." if count else "All results are current.")
    return 0


def _export(options: argparse.Namespace) -> int:
    from phasemark.session.command_session import open_for_command
    from phasemark.session.exporting import export

    with open_for_command(options.study, _warn, rater=options.rater) as at:
        files = at.wait(lambda **back: export(at.session, options.to, **back), _progress("exporting"))
    print(f"Wrote {len(files)} files to {options.to}.")
    return 0


def _demo(options: argparse.Namespace, open_window: Callable[[str | None], int]) -> int:
    from phasemark.session.demo_study import write_demo

    made = write_demo(options.to, options.seed, _warn, _progress)
    print(f"Demo study: {made.study}\nIts truth: {made.truth}\nIts exports: {made.exports}")
    return 0 if options.no_window else open_window(str(made.study))


def _check(options: argparse.Namespace) -> int:
    from phasemark.store.check import check

    problems = check(Path(options.study))
    for problem in problems:
        print(problem)
    if not problems:
        print("Sound.")
    return 1 if problems else 0


_COMMANDS: dict[str, Command] = {
    "new": _new,
    "add": _add,
    "settings": _settings,
    "mark": _mark,
    "exclude": _exclude,
    "measure": _measure,
    "export": _export,
    "check": _check,
}
