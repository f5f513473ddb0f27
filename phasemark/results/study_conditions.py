"""Which conditions the trials of a study fall into: the columns of the study's grid."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from phasemark.model.study import Kind, Trial

# Tasks come first, then what was recorded around them, in this order.
_KINDS = (Kind.TASK, Kind.WARM_UP, Kind.OTHER, Kind.REFERENCE, Kind.MVIC, Kind.QUIET)
SESSION, LOAD = "session", "load"


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition: an exercise of task trials (empty for other kinds), split further only where that tells more.

    parts are (name, value) of what splits it: session, load, or a factor of the study.
    """

    kind: Kind
    exercise: str = ""
    parts: tuple[tuple[str, str], ...] = ()

    @property
    def title(self) -> str:
        """The exercise, or the kind of trial."""
        names = {Kind.MVIC: "MVIC", Kind.QUIET: "quiet"}
        return self.exercise or names.get(self.kind, str(self.kind))

    @property
    def detail(self) -> str:
        """What parts it from other conditions of the same title ('session 2, 60 kg'); empty where nothing does."""
        return ", ".join(part_text(name, value) for name, value in self.parts)

    @property
    def text(self) -> str:
        """Title and detail."""
        return f"{self.title}, {self.detail}" if self.parts else self.title


def part_text(name: str, value: str) -> str:
    """A session, load or factor in words ('session 2', '60 kg', 'stance wide', 'no load')."""
    if not value:
        return f"no {name}"
    return value if name == LOAD else f"{name} {value}"


def natural_key(text: str) -> tuple[tuple[tuple[int, int, str], ...], str]:
    """Sorts codes as people count: P2 before P10, whatever the letter case."""
    return tuple(_run_key(run) for run in re.findall(r"[0-9]+|[^0-9]+", text.casefold())), text


def _run_key(run: str) -> tuple[int, int, str]:
    digits = run.lstrip("0")
    return (0, len(digits), digits) if run[0] in "0123456789" else (1, 0, run)


def part_of(trial: Trial, name: str) -> str:
    """A trial's session, load or factor as text; empty where it has none."""
    if name == SESSION:
        return trial.session
    if name == LOAD:
        return "" if trial.load is None else trial.load.text
    return trial.factor(name)


def _head(trial: Trial) -> Condition:
    return Condition(trial.kind, trial.exercise if trial.kind is Kind.TASK else "")


def _splits(trials: Sequence[Trial], name: str, parts: tuple[str, ...]) -> bool:
    """Whether a part tells trials of one participant's cell apart, by values that recur from person to person.

    A group, or a load chosen for each person, differs between participants only or has a value for each of them:
    as columns these would leave a grid of nearly empty cells.
    """
    seen: dict[tuple[str, ...], set[str]] = {}
    for trial in trials:
        cell = (trial.participant, *(part_of(trial, part) for part in parts))
        seen.setdefault(cell, set()).add(part_of(trial, name))
    most = max(len(values) for values in seen.values())
    return most > 1 and len(set().union(*seen.values())) <= 2 * most


def _splitting_parts(trials: Sequence[Trial]) -> tuple[str, ...]:
    parts: tuple[str, ...] = ()
    factors = sorted({name for trial in trials for name, _ in trial.factors} - {SESSION, LOAD})
    for name in (SESSION, LOAD, *factors):
        if _splits(trials, name, parts):
            parts = (*parts, name)
    return parts


def conditions_of(trials: Iterable[Trial]) -> dict[Condition, list[Trial]]:
    """The conditions in the order of their columns, each with its trials in the order given.

    Exercises come as they first appear; session, load and factors only where they tell trials of one
    participant apart, each sorted naturally.
    """
    heads: dict[Condition, list[Trial]] = {}
    for trial in trials:
        heads.setdefault(_head(trial), []).append(trial)
    found: dict[Condition, list[Trial]] = {}
    for head, members in sorted(heads.items(), key=lambda item: _KINDS.index(item[0].kind)):
        for trial in sorted(members, key=_sorting(parts := _splitting_parts(members))):
            own = Condition(head.kind, head.exercise, tuple((name, part_of(trial, name)) for name in parts))
            found.setdefault(own, []).append(trial)
    return found


def _sorting(parts: tuple[str, ...]) -> Callable[[Trial], list[object]]:
    return lambda trial: [_part_key(trial, name) for name in parts]


def _part_key(trial: Trial, name: str) -> tuple[object, ...]:
    if name != LOAD:
        return natural_key(part_of(trial, name))
    return ("", 0) if trial.load is None else (trial.load.unit, trial.load.value)


def labels_in_cell(trials: Sequence[Trial]) -> tuple[str, ...]:
    """What to call each trial of one cell: that in which they differ ('set 2'), else their ids."""
    if len(trials) == 1:
        return ("",)
    factors = sorted({name for trial in trials for name, _ in trial.factors})
    columns: list[list[str]] = [
        [trial.exercise for trial in trials],
        *([part_text(name, part_of(trial, name)) for trial in trials] for name in (SESSION, LOAD, *factors)),
        [f"set {trial.set}" for trial in trials],
    ]
    telling = [column for column in columns if len(set(column)) > 1]
    labels = [", ".join(filter(None, words)) for words in zip(*telling, strict=True)] or [""] * len(trials)
    return tuple(
        label if label and labels.count(label) == 1 else f"{label}, trial {trial.id}".removeprefix(", ")
        for label, trial in zip(labels, trials, strict=True)
    )
