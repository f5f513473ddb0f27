"""What can be typed after `phasemark`: the commands, their arguments, and their help."""

import argparse
from pathlib import Path
from typing import NoReturn

from phasemark import __version__
from phasemark.model.intervals import Purpose
from phasemark.model.study import Kind

_STUDY = "the study's folder, or its project file"


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with a call in one sentence."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message}; see '{self.prog} --help'.\n")


def parser() -> argparse.ArgumentParser:
    """The parser of all commands; options.command is None where none was given."""
    made = _Parser(
        prog="phasemark",
        description="Cuts surface EMG of exercises into repetitions, phases and thirds, and measures EMG amplitude in "
        "each. Without a command it opens the window.",
        epilog="Exit codes: 0 done, 1 the data say no, 2 the call is wrong, 3 unforeseen. "
        "'phasemark COMMAND --help' tells more of a command.",
    )
    made.add_argument("--version", action="version", version=f"phasemark {__version__}")
    commands = made.add_subparsers(dest="command", metavar="COMMAND")
    for name, brief, more, fill in _COMMANDS:
        fill(commands.add_parser(name, help=brief, description=f"{brief[:1].upper()}{brief[1:]}. {more}".strip()))
    return made


def _study(command: argparse.ArgumentParser) -> None:
    command.add_argument("study", metavar="STUDY", help=_STUDY)


def _new(command: argparse.ArgumentParser) -> None:
    command.add_argument("study", metavar="STUDY", help="the folder to make; its name is the study's name")


def _add(command: argparse.ArgumentParser) -> None:
    _study(command)
    kinds = [str(kind) for kind in Kind]
    arguments = command.add_argument
    arguments("files", metavar="FILE", nargs="+", type=Path, help="recordings, each of which becomes a trial")
    arguments("--participant", required=True, metavar="CODE", help="whose recordings, such as P01")
    arguments("--exercise", default="", metavar="NAME", help="what was done; needed for task trials")
    arguments(
        "--kind",
        choices=kinds,
        default=str(Kind.TASK),
        metavar="KIND",
        help=f"one of {', '.join(kinds)} (default: task)",
    )
    arguments("--session", default="1", metavar="S", help="the day, or the placement of electrodes (default: 1)")
    arguments("--set", type=int, metavar="N", help="number of the set (default: one more than there are alike)")
    arguments("--order", type=int, metavar="N", help="place of the trial in the session")
    arguments("--load", metavar="LOAD", help="a number and its unit, such as '60 kg' or '70 %%1RM'")
    arguments(
        "--factor",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="anything else that trials are compared by, such as stance=wide; may be given several times",
    )
    arguments(
        "--columns",
        type=Path,
        metavar="MAP.json",
        help="which column is which muscle or movement (default: what the file's own titles say)",
    )


def _settings(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument(
        "changes", metavar="KEY=VALUE", nargs="*", help="such as filter.lowpass_hz=400 or counted=2,3,4,5,6"
    )


def _rater(command: argparse.ArgumentParser, more: str = "") -> None:
    command.add_argument("--rater", metavar="R", default="", help=f"whose marks (default: the study's first){more}")


def _mark(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--again", action="store_true", help="also trials that are marked; what a hand placed stays")
    _rater(command, "; a new code adds a rater")


def _exclude(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--trial", required=True, metavar="T", help="the trial's id, such as T001")
    command.add_argument("--rep", type=int, metavar="N", help="its number among the complete repetitions")
    command.add_argument("--muscle", metavar="M", help="only this muscle, in the repetition or in the whole trial")
    command.add_argument("--side", choices=["left", "right", "none"], help="only this side of the muscle")
    why = command.add_mutually_exclusive_group(required=True)
    why.add_argument("--reason", metavar="TEXT", help="why; it stands in every export")
    why.add_argument("--take-back", action="store_true", help="undo an earlier exclusion of the same")
    _rater(command)


def _remove(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--trial", required=True, metavar="T", help="the trial's id, such as T001")
    command.add_argument("--reason", required=True, metavar="TEXT", help="why; it stands in the study's ledger")


def _measure(command: argparse.ArgumentParser) -> None:
    _study(command)
    _rater(command)


def _export(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--to", required=True, metavar="DIR", type=Path, help="the folder to write to")
    command.add_argument(
        "--curves",
        action="store_true",
        help="also mean curves over each phase, how well they repeat, and their pictures",
    )
    _rater(command)


def _demo(command: argparse.ArgumentParser) -> None:
    command.add_argument("--to", metavar="DIR", type=Path, help="the folder to write to (default: one in this folder)")
    command.add_argument("--no-window", action="store_true", help="do not open the window on it")
    command.add_argument("--seed", type=int, default=1, metavar="N", help="another number invents another study")


def _quality(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--trial", metavar="T", help="only this trial")
    command.add_argument("--all", action="store_true", help="also what is within its threshold")
    _rater(command)


def _references(command: argparse.ArgumentParser) -> None:
    _study(command)
    _rater(command)


def _muscle(command: argparse.ArgumentParser, which: str) -> None:
    command.add_argument("--muscle", metavar="M", help=which)
    command.add_argument("--side", choices=["left", "right", "none"], help="only this side of the muscle")


def _accept(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--trial", required=True, metavar="T", help="the trial's id, such as T001")
    command.add_argument("--check", required=True, metavar="CHECK", help="its name, such as 'movement artefact'")
    _muscle(command, "the muscle concerned; without one the movement trace")
    why = command.add_mutually_exclusive_group(required=True)
    why.add_argument("--reason", metavar="TEXT", help="why; it stands in the exports")
    why.add_argument("--take-back", action="store_true", help="no longer accept it")
    _rater(command)


def _interval(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--trial", required=True, metavar="T", help="the trial's id, such as T001")
    purposes = [str(purpose) for purpose in Purpose]
    command.add_argument(
        "--purpose", required=True, choices=purposes, metavar="PURPOSE", help=f"one of {', '.join(purposes)}"
    )
    command.add_argument("--begin", metavar="SECONDS", help="from this time on")
    command.add_argument("--end", metavar="SECONDS", help="up to this time")
    command.add_argument("--take-away", action="store_true", help="remove the interval that is there")
    command.add_argument("--reason", default="", metavar="TEXT", help="why there")
    _muscle(command, "only for this muscle (default: for all of the trial)")
    _rater(command)


def _reference(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--participant", required=True, metavar="CODE", help="whose reference")
    command.add_argument("--session", default="1", metavar="S", help="in which session (default: 1)")
    command.add_argument("--muscle", required=True, metavar="M", help="of which muscle")
    command.add_argument("--side", choices=["left", "right", "none"], help="only this side of the muscle")
    which = command.add_mutually_exclusive_group(required=True)
    which.add_argument("--trial", metavar="T", help="take the value of this MVIC or reference trial")
    which.add_argument("--from-session", metavar="S", help="take the reference of another session")
    which.add_argument("--take-back", action="store_true", help="go back to what the rule gives")
    command.add_argument("--reason", metavar="TEXT", help="why; needed, and stands in the exports")
    _rater(command)


def _plan(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument(
        "changes", metavar="KEY=VALUE", nargs="*", help="such as a=squat b=lunge smallest_effect=5 phases=against,with"
    )
    command.add_argument("--reason", default="", metavar="TEXT", help="why it is changed; it stands in the ledger")
    command.add_argument("--remove", action="store_true", help="take the plan away; the ledger keeps it")
    _rater(command)


def _compare(command: argparse.ArgumentParser) -> None:
    _study(command)
    command.add_argument("--a", metavar="NAME", help="the one level (default: the plan's)")
    command.add_argument("--b", metavar="NAME", help="the other level; differences are a - b")
    command.add_argument("--by", metavar="FACTOR", help="exercise, session, load, or a factor of the study")
    command.add_argument("--smallest", type=float, metavar="X", help="the smallest difference that matters")
    command.add_argument("--group", metavar="FACTOR", help="a factor between people, for the scripts of mixed models")
    command.add_argument(
        "--robustness", action="store_true", help="also tell which findings stand under other boundaries and settings"
    )
    command.add_argument("--to", metavar="DIR", type=Path, help="write tables, scripts and pictures into this folder")
    _rater(command)


_COMMANDS = (
    ("new", "make an empty study folder", "A study is one folder, so that it moves as one thing.", _new),
    (
        "add",
        "add recordings to a study",
        "The values are copied into the study's folder; the files stay as they are. All are added or none.",
        _add,
    ),
    (
        "settings",
        "show the settings of a study, or change some",
        "Without KEY=VALUE all settings are listed. A filter is switched off with the value 'off'; "
        "filter[MUSCLE].highpass_hz=30 sets one muscle's, first_phase[EXERCISE]=lowering one exercise's.",
        _settings,
    ),
    (
        "mark",
        "mark repetitions, phases and thirds where a hand has not been",
        "Phases come from the first movement trace of a trial, without one from bursts of its first muscle.",
        _mark,
    ),
    (
        "exclude",
        "take a trial, a repetition or a muscle out of the means",
        "What is excluded stays in the study and in every export, with its reason.",
        _exclude,
    ),
    (
        "remove",
        "take a trial out of the study altogether",
        "For what was added by mistake: its marks go with it, its recording stays in the study's folder. What was done "
        "but is not to count is excluded instead.",
        _remove,
    ),
    (
        "measure",
        "measure EMG amplitude per phase and third",
        "Only what is not measured yet, or was measured by other settings or marks.",
        _measure,
    ),
    (
        "export",
        "write segments, summaries, marks and settings",
        "What is not measured, or not any more current, is measured first. Files of the same names are replaced.",
        _export,
    ),
    (
        "demo",
        "write an invented study, mark, measure and export it, and open it",
        "Its truth is written beside it.",
        _demo,
    ),
    (
        "quality",
        "tell what the checks of signal quality found",
        "Nothing is removed by itself: exclude what is not usable, or accept a finding with a reason.",
        _quality,
    ),
    (
        "references",
        "tell what each muscle is normalised to",
        "With the attempts it was made from, their sampling error, and what to look at.",
        _references,
    ),
    (
        "accept",
        "accept what a quality check found, with a reason",
        "An accepted artefact no longer keeps an MVIC attempt from being taken.",
        _accept,
    ),
    (
        "interval",
        "place the stretch of a baseline, an MVIC plateau or an isometric hold",
        "It takes the place of an earlier one for the same purpose and muscle.",
        _interval,
    ),
    (
        "reference",
        "choose a muscle's reference by hand, with a reason",
        "Electrodes placed again are a new measurement: the reference of another session needs a good reason.",
        _reference,
    ),
    (
        "plan",
        "show the analysis plan, or write it down before results are looked at",
        "Keys: factor, a, b, outcome, muscles, phases, thirds, primary.muscle, primary.phase, primary.third, "
        "smallest_effect, test, confidence, exclusion_rules. Each change stands in the ledger with its time.",
        _plan,
    ),
    (
        "compare",
        "compare two exercises, or two levels of a factor, over participants",
        "By the analysis plan where there is one; without one, and where it differs, it is exploratory and says so.",
        _compare,
    ),
    ("check", "check the files of a study", "Exit code 1 and a list if they are not sound.", _study),
)
