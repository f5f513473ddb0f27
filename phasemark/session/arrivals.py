"""Recordings about to be added: the files, how their columns are used, what they are, and what is still open.

A draft belongs to one dialog and is filled in piece by piece; what comes of it is a tuple of arrivals.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from phasemark.formats.mapping import Mapping
from phasemark.formats.preview import Preview
from phasemark.model.errors import BadCall, BadData
from phasemark.model.study import Kind, Study, Trial
from phasemark.session.column_plan import ColumnPlan, blank_plan, mapping_from, plan_from
from phasemark.session.column_points import open_points
from phasemark.session.descriptions import FIELDS, KIND, SESSION, factor_field, factor_name, read_row, row_problem
from phasemark.session.importing import Arrival, Description
from phasemark.session.kept_mappings import KeptMappings, LayoutKey, layout_key
from phasemark.session.name_proposals import propose

GroupKey = tuple[LayoutKey, str]
TITLES, KEPT, NOTHING, HAND = "titles", "kept", "nothing", "hand"


@dataclass(eq=False)
class FileDraft:
    """One file: what was seen in it (None: not yet), why it cannot be used, and what is written of it by field.

    alone says that its columns are described for it only; proposed names the fields that its name filled in.
    """

    path: Path
    preview: Preview | None = None
    problem: str = ""
    alone: bool = False
    row: dict[str, str] = field(default_factory=dict)
    proposed: frozenset[str] = frozenset()

    @property
    def waiting(self) -> bool:
        """Whether it is still being looked at."""
        return self.preview is None and not self.problem


@dataclass(slots=True)
class _Group:
    """Files of one layout: how their columns are used, and where that came from."""

    plan: ColumnPlan
    origin: str


class ArrivalsDraft:
    """Files on their way into a study. touched says that a person has filled something in."""

    def __init__(self, study: Study, kept: KeptMappings | None = None) -> None:
        self.files: list[FileDraft] = []
        self.factors = list(study.factor_names())
        self.touched = False
        self._study = study
        self._kept = kept or KeptMappings()
        self._groups: dict[GroupKey, _Group] = {}

    # Files

    def add_files(self, paths: Iterable[Path]) -> list[FileDraft]:
        """Take files that are not there yet; gives the new ones, which have to be looked at."""
        there = {file.path for file in self.files}
        new = [FileDraft(path) for path in dict.fromkeys(p.resolve() for p in paths) if path not in there]
        for file in new:
            said = propose(file.path, self._study.participants(), self.exercises())
            file.row = {KIND: str(Kind.TASK), SESSION: "1", **said}
            file.proposed = frozenset(said)
        self.files += new
        return new

    def remove(self, file: FileDraft) -> None:
        """Leave a file out."""
        self.files.remove(file)

    def looked(self, file: FileDraft, preview: Preview) -> None:
        """What was seen in a file has arrived."""
        file.preview = preview
        self._groups.setdefault(self._key(file), self._first_group(preview))

    def failed(self, file: FileDraft, sentence: str) -> None:
        """A file cannot be used."""
        file.problem = sentence

    # Columns

    def _key(self, file: FileDraft) -> GroupKey:
        assert file.preview is not None, "the file was not looked at yet"
        return layout_key(file.preview), str(file.path) if file.alone else ""

    def _first_group(self, preview: Preview) -> _Group:
        """The mapping used last for these columns, else what the titles say."""
        for mapping, origin in ((self._kept.mapping_for(layout_key(preview)), KEPT), (preview.proposed, TITLES)):
            if mapping is not None:
                try:
                    return _Group(plan_from(mapping, preview.columns, preview.name), origin)
                except BadData:
                    continue
        return _Group(blank_plan(preview.columns), NOTHING)

    def plan(self, file: FileDraft) -> ColumnPlan | None:
        """How a file's columns are used; None before it was looked at."""
        return None if file.preview is None else self._groups[self._key(file)].plan

    def origin(self, file: FileDraft) -> str:
        """Where that came from: titles, kept, nothing, or a hand."""
        return NOTHING if file.preview is None else self._groups[self._key(file)].origin

    def set_plan(self, file: FileDraft, plan: ColumnPlan) -> None:
        """Use the columns of a file, and of all that share its layout, in another way."""
        if plan != self.plan(file):
            self._groups[self._key(file)] = _Group(plan, HAND)
            self.touched = True

    def use_mapping(self, file: FileDraft, mapping: Mapping) -> None:
        """Use a file's columns as a mapping says; raises BadData where it does not fit them."""
        if file.preview is not None:
            self.set_plan(file, plan_from(mapping, file.preview.columns, file.preview.name))

    def set_alone(self, file: FileDraft, alone: bool) -> None:
        """Describe the columns of a file by itself, or again together with the files of its layout."""
        plan, origin = self.plan(file), self.origin(file)
        file.alone = alone
        if plan is not None:
            self._groups.setdefault(self._key(file), _Group(plan, origin))

    def alike(self, file: FileDraft) -> list[FileDraft]:
        """The files whose columns are described together with this one's, itself among them."""
        if file.preview is None:
            return [file]
        return [f for f in self.files if f.preview is not None and self._key(f) == self._key(file)]

    # Descriptions

    def exercises(self) -> tuple[str, ...]:
        """Exercises that the study has, then those written here."""
        there = [t.exercise for t in self._study.trials] + [e.name for e in self._study.exercises]
        return _distinct([*sorted(there, key=str.casefold), *(file.row.get("exercise", "") for file in self.files)])

    def known(self, name: str) -> tuple[str, ...]:
        """What was written in a field before, in the study and here; exercises and factor values, say."""
        if name == "exercise":
            return self.exercises()
        there: list[str] = []
        if name == "participant":
            there = list(self._study.participants())
        elif factor_name(name):
            there = sorted({t.factor(factor_name(name)) for t in self._study.trials})
        return _distinct([*there, *(file.row.get(name, "") for file in self.files)])

    def fields(self) -> tuple[str, ...]:
        """All fields of a row: the fixed ones, then the factors."""
        return (*FIELDS, *(factor_field(name) for name in self.factors))

    def add_factor(self, name: str) -> str:
        """Add a factor; gives the sentence that refuses it, '' where it is added."""
        name = " ".join(name.split())
        if not name:
            return "A factor needs a name, such as stance or cadence."
        if name.casefold() in {known.casefold() for known in (*self.factors, *FIELDS)}:
            return f"There is a column {name} already."
        self.factors.append(name)
        self.touched = True
        return ""

    def write(self, file: FileDraft, name: str, text: str) -> None:
        """Write into a field of a file's row."""
        if file.row.get(name, "") != text.strip():
            file.row[name] = text.strip()
            file.proposed -= {name}
            self.touched = True

    def notes(self) -> dict[Path, str]:
        """What is worth knowing of a file's row and does not stop it; files without a note are absent."""
        names, taken = self._names_there(), self._conditions_there()
        notes: dict[Path, str] = {}
        for file in self.files:
            if file.path.name in names:
                notes[file.path] = f"a file of this name is in the study already ({names[file.path.name]})"
                continue
            if not file.row.get("set") or row_problem(file.row) is not None:
                continue
            first = taken.setdefault(_condition(read_row(file.row)), file.path.name)
            if first != file.path.name:
                notes[file.path] = f"this set is there already ({first})"
        return notes

    def _names_there(self) -> dict[str, str]:
        return {trial.recording.source.file: trial.id for trial in self._study.trials}

    def _conditions_there(self) -> dict[tuple[object, ...], str]:
        return {_condition(trial): trial.id for trial in self._study.trials}

    # What comes of it

    def column_problem(self, file: FileDraft) -> str:
        """What is open about a file or its columns, '' where nothing is."""
        if file.problem or file.waiting:
            return file.problem or "is being looked at"
        plan = self.plan(file)
        assert plan is not None
        assert file.preview is not None
        points = open_points(plan, file.preview.columns)
        if not points:
            return ""
        where = f"column {points[0].column}: " if points[0].column else ""
        more = f" (and {len(points) - 1} more)" if len(points) > 1 else ""
        return f"{where}{points[0].words}{more}"

    def open_sentence(self) -> str:
        """What is open first, in one sentence; '' where the recordings can be added."""
        if not self.files:
            return "Choose files to add, or drop them here."
        for file in self.files:
            problem = self.column_problem(file)
            if problem:
                return _ended(file.problem or f"{file.path.name}, {problem}")
        for file in self.files:
            wrong = row_problem(file.row)
            if wrong is not None:
                return f"{file.path.name}: {_ended(wrong.words)}"
        return ""

    def arrivals(self) -> tuple[Arrival, ...]:
        """All recordings with mapping and description.

        Raises:
            BadCall: something is still open; the sentence says what.
        """
        sentence = self.open_sentence()
        if sentence:
            raise BadCall(sentence)
        return tuple(Arrival(read_row(file.row), file.path, self._mapping(file)) for file in self.files)

    def _mapping(self, file: FileDraft) -> Mapping:
        plan = self.plan(file)
        assert plan is not None
        return mapping_from(plan)

    def kept(self) -> KeptMappings:
        """What was kept before, with the mappings of these files; of a layout rather the common one than a lone one."""
        kept = self._kept
        for file in sorted(self.files, key=lambda f: not f.alone):
            if file.preview is not None and not self.column_problem(file):
                kept = kept.with_mapping(layout_key(file.preview), self._mapping(file))
        return kept


def _condition(of: Description | Trial) -> tuple[object, ...]:
    return of.participant, of.kind, of.exercise, of.session, of.load, tuple(sorted(of.factors)), of.set


def _distinct(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for text in texts if text))


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith(".") else f"{sentence}."
