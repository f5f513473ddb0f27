"""Rows of the references for normalisation, and of the attempts they were made from."""

from collections.abc import Iterator
from math import isfinite, nan

from phasemark.model.clock import seconds
from phasemark.results.numbers import Numbers
from phasemark.results.referencing import AttemptAt, Normaliser
from phasemark.results.value_cells import Row

REFERENCE_COLUMNS = (
    *("participant", "session", "muscle", "side", "exercise", "approach", "rule", "window_s", "attempts", "used"),
    *("rms_mV", "mean_amplitude_mV", "rms_sampling_error_percent", "noise_rms_mV", "after_over_before"),
    *("from_session", "chosen_by", "reason", "note"),
)
ATTEMPT_COLUMNS = (
    *("participant", "session", "muscle", "side", "trial", "position", "attempt", "rms_mV", "mean_amplitude_mV"),
    *("begin_s", "end_s", "at_edge", "used", "faults"),
)


def reference_rows(numbers: Numbers) -> Iterator[Row]:
    """One row per participant, session, muscle and side."""
    rules = numbers.study.settings.normalisation
    for whose, found in numbers.normalisers.items():
        reference, decision = found.reference, found.decision
        yield {
            "participant": whose.participant,
            "session": whose.session,
            "muscle": whose.muscle,
            "side": whose.side,
            "exercise": whose.exercise,
            "approach": found.approach,
            "rule": rules.rule,
            "window_s": rules.window_s,
            "attempts": len(found.attempts),
            "used": " ".join(_name(found.attempts[place]) for place in (reference.used if reference else ())),
            "rms_mV": found.rms,
            "mean_amplitude_mV": found.mean_amplitude,
            "rms_sampling_error_percent": 100 * found.rms_error,
            "noise_rms_mV": nan if found.noise is None else found.noise.rms,
            "after_over_before": nan if found.drift is None else found.drift.rms,
            "from_session": decision.from_session if decision else "",
            "chosen_by": decision.decision.rater if decision else "",
            "reason": decision.decision.reason if decision else "",
            "note": " ".join(reference_notes(found)),
        }


def reference_notes(found: Normaliser) -> tuple[str, ...]:
    """All there is to say of a reference, in sentences."""
    if found.reference is None:
        return (*found.said, *_too_short(found), "There is no reference; this muscle is reported in mV.")
    return (*found.said, *found.reference.flags)


def _too_short(found: Normaliser) -> tuple[str, ...]:
    # Attempts without any figure, none of them long enough for one full window.
    attempts = [at.attempt for at in found.attempts]
    if not attempts or any(isfinite(one.rms) or isfinite(one.mean_amplitude) for one in attempts):
        return ()
    count = "the only attempt" if len(attempts) == 1 else f"any of the {len(attempts)} attempts"
    return (f"No full window of {attempts[0].window_s:g} s without gaps fits in {count}.",)


def _name(at: AttemptAt) -> str:
    return f"{at.trial}#{at.number}"


def attempt_rows(numbers: Numbers) -> Iterator[Row]:
    """One row per attempt, side by side for each muscle; used says which made the reference RMS."""
    for whose, found in numbers.normalisers.items():
        used = found.reference.used if found.reference else ()
        for place, at in enumerate(found.attempts):
            trial = numbers.study.trial(at.trial)
            attempt, rate = at.attempt, trial.emg[at.channel].rate
            inside = [x for x in at.faults if x.begin < attempt.end and attempt.begin < x.end]
            yield {
                "participant": whose.participant,
                "session": whose.session,
                "muscle": whose.muscle,
                "side": whose.side,
                "trial": at.trial,
                "position": trial.exercise,
                "attempt": at.number,
                "rms_mV": attempt.rms,
                "mean_amplitude_mV": attempt.mean_amplitude,
                "begin_s": seconds(attempt.begin, rate),
                "end_s": seconds(attempt.end, rate),
                "at_edge": attempt.at_edge,
                "used": place in used,
                "faults": ", ".join(dict.fromkeys(f"{x.what}{' (accepted)' if x.accepted else ''}" for x in inside)),
            }
