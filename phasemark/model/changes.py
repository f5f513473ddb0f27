"""What differs between two studies, part by part, and how to apply it again.

A study is taken apart into parts that are small enough for one line of a ledger: the settings, an exercise,
a reference chosen by hand, the analysis plan, a trial without its marks, the frame of a rater's marks, a single
rep. A change is a part's key with its value before and after (None where the part does not exist). Changes of
one gesture are applied together, so that what is in between need not be a valid study.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from phasemark.model.errors import BadData
from phasemark.model.marks import Marks, Rep
from phasemark.model.normalisation import ReferenceDecision
from phasemark.model.plan import AnalysisPlan
from phasemark.model.settings import Settings
from phasemark.model.study import Exercise, Study, Trial


@dataclass(frozen=True, slots=True)
class PartKey:
    """Which part: its kind, and the trial, rater, rep or name it belongs to."""

    part: str
    trial: str = ""
    rater: str = ""
    rep: int = 0
    name: str = ""


@dataclass(frozen=True, slots=True)
class Heading:
    """The part of a study that is neither trial nor setting: name, raters and the order of its trials."""

    name: str
    raters: tuple[str, ...]
    trials: tuple[str, ...]


Part = Heading | Settings | Exercise | ReferenceDecision | AnalysisPlan | Trial | Marks | Rep
PART_TYPES: dict[str, type] = {
    "study": Heading,
    "settings": Settings,
    "exercise": Exercise,
    "reference": ReferenceDecision,
    "plan": AnalysisPlan,
    "trial": Trial,
    "marks": Marks,
    "rep": Rep,
}


@dataclass(frozen=True, slots=True)
class Change:
    """One part before and after; None where it does not exist."""

    key: PartKey
    before: Part | None
    after: Part | None


def _trial_parts(trial: Trial) -> Iterator[tuple[PartKey, Part]]:
    yield PartKey("trial", trial.id), replace(trial, marks=())
    for marks in trial.marks:
        yield PartKey("marks", trial.id, marks.rater), replace(marks, reps=())
        for rep in marks.reps:
            yield PartKey("rep", trial.id, marks.rater, rep.id), rep


def parts(study: Study) -> dict[PartKey, Part]:
    """A study taken apart."""
    taken: dict[PartKey, Part] = dict(_top_parts(study))
    for trial in study.trials:
        taken.update(_trial_parts(trial))
    return taken


def _top_parts(study: Study) -> Iterator[tuple[PartKey, Part]]:
    yield PartKey("study"), Heading(study.name, study.raters, tuple(t.id for t in study.trials))
    yield PartKey("settings"), study.settings
    for exercise in study.exercises:
        yield PartKey("exercise", name=exercise.name), exercise
    for reference in study.references:
        yield PartKey("reference", name="\t".join(reference.key)), reference
    if study.plan is not None:
        yield PartKey("plan"), study.plan


def assemble(taken: dict[PartKey, Part]) -> Study:
    """The study that was taken apart; raises BadData where parts are missing or do not fit together."""
    heading, settings = taken.get(PartKey("study")), taken.get(PartKey("settings"))
    if not isinstance(heading, Heading) or not isinstance(settings, Settings):
        raise BadData("The study has no heading or no settings.")
    trials: dict[str, Trial] = {}
    marks: dict[tuple[str, str], Marks] = {}
    reps: dict[tuple[str, str], list[Rep]] = {}
    exercises, references = [], []
    for key, part in taken.items():
        if isinstance(part, Trial):
            trials[key.trial] = part
        elif isinstance(part, Marks):
            marks[key.trial, key.rater] = part
        elif isinstance(part, Rep):
            reps.setdefault((key.trial, key.rater), []).append(part)
        elif isinstance(part, Exercise):
            exercises.append(part)
        elif isinstance(part, ReferenceDecision):
            references.append(part)
    strays = set(reps) - set(marks) or {key for key in marks if key[0] not in trials}
    if strays or set(heading.trials) != set(trials):
        raise BadData("The study has marks or trials that belong to nothing.")
    for (trial_id, rater), frame in sorted(marks.items()):
        held = sorted(reps.get((trial_id, rater), []), key=lambda rep: rep.begin)
        trials[trial_id] = trials[trial_id].with_marks(replace(frame, reps=tuple(held)))
    return Study(
        heading.name,
        tuple(trials[trial_id] for trial_id in heading.trials),
        tuple(sorted(exercises, key=lambda e: e.name)),
        settings,
        heading.raters,
        tuple(sorted(references, key=lambda reference: reference.key)),
        plan if isinstance(plan := taken.get(PartKey("plan")), AnalysisPlan) else None,
    )


def differences(before: Study, after: Study) -> tuple[Change, ...]:
    """What an edit changed, in a stable order; trials that are the same object are not looked into."""
    same = {id(t) for t in before.trials} & {id(t) for t in after.trials}
    old, new = (
        dict(_top_parts(study)) | {k: p for t in study.trials if id(t) not in same for k, p in _trial_parts(t)}
        for study in (before, after)
    )
    keys = list(dict.fromkeys((*old, *new)))
    return tuple(Change(k, old.get(k), new.get(k)) for k in keys if old.get(k) != new.get(k))


def apply(study: Study, changes: Iterable[Change]) -> Study:
    """The study after the changes of whole gestures.

    Raises:
        BadData: a part is not as the change found it (the ledger belongs to another state of the study).
    """
    taken = parts(study)
    for change in changes:
        if taken.get(change.key) != change.before:
            where = " ".join(str(v) for v in (change.key.part, change.key.trial, change.key.rep or "") if v)
            raise BadData(f"The {where} is not as this change found it.")
        if change.after is None:
            taken.pop(change.key, None)
        else:
            taken[change.key] = change.after
    return assemble(taken)
