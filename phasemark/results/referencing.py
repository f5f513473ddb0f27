"""Which reference each muscle of each participant and session has, what it was made from, and what to say of it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import isfinite, nan

from phasemark.model.marks import BURST, Decision
from phasemark.model.normalisation import Approach, ReferenceChoice, ReferenceDecision
from phasemark.model.recording import EmgChannel, Side
from phasemark.model.study import Kind, Study, Trial
from phasemark.results.facts import ChannelFacts, TrialFacts, baseline_of
from phasemark.results.measure import TrialResults, Value
from phasemark.results.segments import HOLD, REP, WHOLE
from phasemark.results.standing import hold_standing, standing
from phasemark.signal.attempts import Attempt
from phasemark.signal.baseline import error_without_noise, without_noise
from phasemark.signal.quality.finding import Check
from phasemark.signal.references import Drift, Reference, Stretch, drift, reference_of, task_reference

_GATING = (Check.CLIPPING, Check.ARTEFACT, Check.LOST)
_KIND_OF = {
    Approach.ISOMETRIC_MVC: Kind.MVIC,
    Approach.MATCHED_MVC: Kind.MVIC,
    Approach.SUBMAXIMAL: Kind.REFERENCE,
}


@dataclass(frozen=True, slots=True)
class Whose:
    """Whose reference: participant, session, muscle and side; exercise where each exercise has one of its own."""

    participant: str
    session: str
    muscle: str
    side: Side
    exercise: str = ""


@dataclass(frozen=True, slots=True)
class AttemptAt:
    """One attempt: its trial, the channel's place in it, its number in the trial from 1, stretches found faulty."""

    trial: str
    channel: int
    number: int
    attempt: Attempt
    faults: tuple[Stretch, ...] = ()


@dataclass(frozen=True, slots=True)
class Normaliser:
    """The reference of one muscle and how it came about; reference is None where the muscle has none.

    noise is the baseline of the trial that the highest attempt is from (None where there is none or where it is not
    subtracted); drift compares MVIC trials after the sets with those before; said are sentences to show beside it.
    """

    whose: Whose
    approach: Approach
    reference: Reference | None
    attempts: tuple[AttemptAt, ...] = ()
    noise: Attempt | None = None
    drift: Drift | None = None
    decision: ReferenceDecision | None = None
    said: tuple[str, ...] = ()

    @property
    def rms(self) -> float:
        """The reference RMS (mV), with the baseline's power taken off where that is asked for; nan where none."""
        return self._less_noise(nan if self.reference is None else self.reference.rms, "rms")

    @property
    def mean_amplitude(self) -> float:
        """The reference mean amplitude (mV), in all else as rms."""
        return self._less_noise(nan if self.reference is None else self.reference.mean_amplitude, "mean_amplitude")

    def _less_noise(self, value: float, which: str) -> float:
        return value if self.noise is None else without_noise(value, getattr(self.noise, which))

    @property
    def rms_error(self) -> float:
        """Relative sampling error of rms."""
        if self.reference is None:
            return nan
        plain = self.reference.error
        if self.noise is None:
            return plain
        return error_without_noise(self.reference.rms, plain, self.noise.rms, self.noise.error)

    @property
    def mean_amplitude_error(self) -> float:
        """Relative sampling error of mean_amplitude."""
        if self.reference is None:
            return nan
        plain = self.reference.mean_error
        if self.noise is None:
            return plain
        noise = self.noise
        return error_without_noise(self.reference.mean_amplitude, plain, noise.mean_amplitude, noise.mean_error)


Facts = Mapping[str, TrialFacts]
Results = Mapping[str, TrialResults]
Normalisers = Mapping[Whose, Normaliser]


def normalisers(study: Study, facts: Facts, results: Results, rater: str) -> dict[Whose, Normaliser]:
    """The normaliser of every muscle of every participant and session that has a trial.

    facts and results are those current, by trial id; a reference that hangs on missing ones is not made. Empty where
    the study's approach is none.
    """
    if study.settings.normalisation.approach is Approach.NONE:
        return {}
    own = {whose: _own(study, facts, results, rater, whose) for whose in _everyone(study)}
    return {whose: _borrowed(study, own, found) for whose, found in own.items()}


def whose(study: Study, trial: Trial, channel: EmgChannel) -> Whose:
    """Whose reference a channel of a trial is stated in."""
    rules = study.settings.normalisation
    each = rules.per_exercise and rules.approach in (Approach.TASK_PEAK, Approach.TASK_MEAN)
    return Whose(trial.participant, trial.session, channel.muscle, channel.side, trial.exercise if each else "")


def _everyone(study: Study) -> tuple[Whose, ...]:
    tasks = (trial for trial in study.trials if trial.kind in (Kind.TASK, Kind.MVIC, Kind.REFERENCE))
    return tuple(dict.fromkeys(whose(study, trial, channel) for trial in tasks for channel in trial.emg))


def _trials_of(study: Study, one: Whose) -> Iterable[tuple[Trial, int]]:
    """Trials of a participant and session that recorded the muscle and are not excluded, with the channel's place."""
    for trial in study.trials:
        if (trial.participant, trial.session) != (one.participant, one.session) or trial.excluded is not None:
            continue
        for place, channel in enumerate(trial.emg):
            if (channel.muscle, channel.side) != (one.muscle, one.side):
                continue
            if not any((x.muscle, x.side) == (one.muscle, one.side) for x in trial.excluded_channels):
                yield trial, place


def _decision(study: Study, one: Whose) -> ReferenceDecision | None:
    key = (one.participant, one.session, one.muscle, one.side)
    return next((held for held in study.references if held.key == key), None)


def _own(study: Study, facts: Facts, results: Results, rater: str, one: Whose) -> Normaliser:
    rules, decision = study.settings.normalisation, _decision(study, one)
    if rules.approach in (Approach.TASK_PEAK, Approach.TASK_MEAN):
        found = tuple(_task_attempts(study, results, rater, one))
        reference = task_reference([at.attempt for at in found], rules.approach)
        return Normaliser(one, rules.approach, reference, found, _noise(study, facts, found, reference))
    found = tuple(attempts_of(study, facts, one))
    unknown = [trial.id for trial, _ in _serving(study, one) if trial.id not in facts]
    said: tuple[str, ...] = ()
    if decision is not None and decision.choice is ReferenceChoice.ATTEMPT:
        chosen = tuple(at for at in found if at.trial == decision.trial)
        said = (
            (f"Trial {decision.trial} was chosen by {_by(decision.decision)}.",)
            if chosen
            else (f"Trial {decision.trial}, chosen by {_by(decision.decision)}, has no attempt; the rule stands in.",)
        )
        unknown = [trial_id for trial_id in unknown if not chosen or trial_id == decision.trial]
        found = chosen or found
    if unknown:  # the best attempt may be in one of them: what the others give would be another reference
        said = (*said, f"Not measured as the study is now: {', '.join(unknown)}, which the reference may come from.")
        return Normaliser(one, rules.approach, None, found, decision=decision, said=said)
    reference = _reference(study, found)
    moved = _drift(study, found)
    return Normaliser(
        one, rules.approach, reference, found, _noise(study, facts, found, reference), moved, decision, said
    )


def _by(decision: Decision) -> str:
    return f"{decision.rater}: {decision.reason}"


def attempts_of(study: Study, facts: Facts, one: Whose) -> Iterable[AttemptAt]:
    """Every attempt at a reference that the approach and the table of positions allow, whatever a person chose."""
    for trial, place in _serving(study, one):
        if trial.id not in facts:
            continue
        known = facts[trial.id].channels[place]
        faults = tuple(_faults(trial, place, known))
        for number, attempt in enumerate(known.attempts, start=1):
            yield AttemptAt(trial.id, place, number, attempt, faults)


def _serving(study: Study, one: Whose) -> Iterable[tuple[Trial, int]]:
    rules = study.settings.normalisation
    wanted = _KIND_OF[rules.approach]
    for trial, place in _trials_of(study, one):
        if trial.kind is wanted and rules.serves(trial.exercise, one.muscle):
            yield trial, place


def _faults(trial: Trial, place: int, known: ChannelFacts) -> Iterable[Stretch]:
    channel = trial.emg[place]
    accepted = {held.check for held in trial.accepted if (held.muscle, held.side) == (channel.muscle, channel.side)}
    for finding in known.findings:
        if finding.flagged and finding.check in _GATING:
            for begin, end in finding.places:
                yield Stretch(begin, end, finding.check, accepted=finding.check in accepted)


def _reference(study: Study, found: Sequence[AttemptAt]) -> Reference | None:
    rules = study.settings.normalisation
    return reference_of(
        [at.attempt for at in found],
        rule=rules.rule,
        best=rules.best,
        disagreement=rules.disagreement,
        findings=[at.faults for at in found],
        positions=positions_of(study, found),
    )


def positions_of(study: Study, found: Sequence[AttemptAt]) -> list[str]:
    """The position that each attempt was made at: the exercise of its trial."""
    return [study.trial(at.trial).exercise for at in found]


def _task_attempts(study: Study, results: Results, rater: str, one: Whose) -> Iterable[AttemptAt]:
    """Each counted rep, burst or hold of the task as an attempt: its highest envelope, or its whole amplitude."""
    rules = study.settings.normalisation
    peak = rules.approach is Approach.TASK_PEAK
    for trial, place in _trials_of(study, one):
        other = (rules.exercise and trial.exercise != rules.exercise) or (
            one.exercise and trial.exercise != one.exercise
        )
        if trial.kind is not Kind.TASK or other or trial.id not in results:
            continue
        marks = trial.marks_of(rater)
        numbers, reps = marks.numbers(), {rep.id: rep for rep in marks.reps}
        for value in results[trial.id].values:
            if value.channel != place or value.segment.phase not in (REP, BURST, HOLD) or value.segment.third != WHOLE:
                continue
            if value.rep in reps:
                stands = standing(trial, reps[value.rep], trial.emg[place], study.settings.counted, numbers)
            else:
                stands = hold_standing(trial, trial.emg[place])
            if stands.counted:
                yield AttemptAt(trial.id, place, numbers.get(value.rep, 1), _of_rep(study, trial, value, peak=peak))


def _of_rep(study: Study, trial: Trial, value: Value, *, peak: bool) -> Attempt:
    further = value.further
    begin, end = value.segment.begin, value.segment.end
    error = nan if further is None else further.error.rms
    mean_error = nan if further is None else further.error.mean_amplitude
    if not peak or further is None:
        length_s = float((end - begin) / trial.clock)
        amplitude = value.amplitude
        return Attempt(
            amplitude.rms, amplitude.mean_amplitude, begin, end, begin, end, error, False, length_s, mean_error
        )
    window = study.settings.envelope.window_s
    return Attempt(further.peak, further.peak, begin, end, begin, end, nan, False, window, nan)


def _noise(study: Study, facts: Facts, found: Sequence[AttemptAt], reference: Reference | None) -> Attempt | None:
    if not study.settings.baseline.subtract or reference is None or not (reference.used or reference.mean_used):
        return None
    at = found[(reference.used or reference.mean_used)[0]]
    trial = study.trial(at.trial)
    return baseline_of(study, facts, trial, trial.emg[at.channel])


def _drift(study: Study, found: Sequence[AttemptAt]) -> Drift | None:
    """The reference of the attempts after the session's last set over that before its first; None without both.

    Both at one position, that of the best attempt before the sets: another position is another effort.
    """
    if not found:
        return None
    about = study.trial(found[0].trial)
    session = [t for t in study.trials if (t.participant, t.session) == (about.participant, about.session)]
    stated = all(t.order is not None for t in session)
    places = {t.id: (t.order or 0) if stated else place for place, t in enumerate(session)}
    tasks = [places[t.id] for t in session if t.kind is Kind.TASK]
    if not tasks:
        return None
    early = [at for at in found if places[at.trial] < min(tasks)]
    before = _reference(study, early)
    if before is None:
        return None
    position = positions_of(study, early)[(before.used or before.mean_used)[0]]
    late = [at for at in found if places[at.trial] > max(tasks) and study.trial(at.trial).exercise == position]
    after = _reference(study, late)
    return None if after is None else drift(before, after)


def _borrowed(study: Study, own: Mapping[Whose, Normaliser], found: Normaliser) -> Normaliser:
    decision = _decision(study, found.whose)
    if decision is None or decision.choice is not ReferenceChoice.BORROWED:
        return found
    one = found.whose
    other = own.get(Whose(one.participant, decision.from_session, one.muscle, one.side, one.exercise))
    if other is None or other.reference is None:
        missing = f"Session {decision.from_session} has no reference of {one.muscle} to take."
        return Normaliser(one, found.approach, None, (), decision=decision, said=(missing,))
    sentence = (
        f"The reference is that of session {decision.from_session}, where electrodes were placed anew; "
        f"taken by {_by(decision.decision)}."
    )
    return Normaliser(
        one,
        found.approach,
        other.reference,
        other.attempts,
        other.noise,
        other.drift,
        decision,
        (sentence, *other.said),
    )


def comparison_warnings(study: Study, found: Normalisers) -> tuple[str, ...]:
    """What a comparison of exercises must be warned of because of how amplitudes were normalised, in sentences."""
    rules = study.settings.normalisation
    warnings = []
    made = any(isfinite(n.rms) or isfinite(n.mean_amplitude) for n in found.values())
    if made and rules.per_exercise and rules.approach in (Approach.TASK_PEAK, Approach.TASK_MEAN):
        warnings.append(
            f"Each exercise is normalised to its own {rules.approach}: what differs between exercises has been divided "
            "out and must not be compared. Use one reference for all tasks, such as MVIC (Besomi et al. 2020)."
        )
    borrowed = [n for n in found.values() if n.decision is not None and n.decision.choice is ReferenceChoice.BORROWED]
    for key, group in groupby(sorted(borrowed, key=_session_of), _session_of):
        muscles = ", ".join(n.whose.muscle for n in group)
        warnings.append(f"{key[0]}, session {key[1]}: the reference of {muscles} comes from another session.")
    without = [n for n in found.values() if not isfinite(n.rms) and not isfinite(n.mean_amplitude)]
    for key, group in groupby(sorted(without, key=_session_of), _session_of):
        muscles = ", ".join(n.whose.muscle for n in group)
        warnings.append(f"{key[0]}, session {key[1]}: no reference for {muscles}; reported in mV only.")
    return tuple(warnings)


def _session_of(normaliser: Normaliser) -> tuple[str, str]:
    return normaliser.whose.participant, normaliser.whose.session
