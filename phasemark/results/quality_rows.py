"""Rows of the quality checks: every figure beside its threshold, and what a person decided about it."""

from collections.abc import Iterator, Mapping

from phasemark.model.clock import Rate, seconds
from phasemark.model.intervals import AcceptedFinding
from phasemark.model.recording import EmgChannel
from phasemark.model.study import Study, Trial
from phasemark.results.facts import TrialFacts
from phasemark.results.value_cells import Row
from phasemark.signal.quality.finding import Finding

QUALITY_COLUMNS = (
    *("participant", "session", "exercise", "set", "kind", "trial", "muscle", "side", "beside", "check"),
    *("figure", "unit", "threshold", "flagged", "accepted", "reason", "rater", "places_s", "sentence"),
)


def accepted(trial: Trial, check: str, channel: EmgChannel | None) -> AcceptedFinding | None:
    """What a person decided about a check's finding in a channel (None: the movement trace); None if nobody did."""
    about = (check, channel.muscle, channel.side) if channel else (check, "", "none")
    return next((held for held in trial.accepted if (held.check, held.muscle, held.side) == about), None)


def quality_rows(study: Study, facts: Mapping[str, TrialFacts]) -> Iterator[Row]:
    """One row per trial, channel and check; 'beside' names the other muscle of two that are alike."""
    for trial in study.trials:
        known = facts.get(trial.id)
        if known is None:
            continue
        for channel, own in zip(trial.emg, known.channels, strict=True):
            for finding in own.findings:
                yield _row(trial, channel, finding, channel.rate)
        for finding in known.movement:
            yield _row(trial, None, finding, trial.movement[0].rate)
        for pair in known.alike:
            first, second = trial.emg[pair.first], trial.emg[pair.second]
            yield _row(trial, first, pair.finding, first.rate) | {"beside": second.label}


def _row(trial: Trial, channel: EmgChannel | None, finding: Finding, rate: Rate) -> Row:
    decided = accepted(trial, finding.check, channel)
    return {
        "participant": trial.participant,
        "session": trial.session,
        "exercise": trial.exercise,
        "set": trial.set,
        "kind": trial.kind,
        "trial": trial.id,
        "muscle": channel.muscle if channel else "",
        "side": channel.side if channel else "",
        "beside": "",
        "check": finding.check,
        "figure": finding.figure,
        "unit": finding.unit,
        "threshold": finding.threshold,
        "flagged": finding.flagged,
        "accepted": decided is not None,
        "reason": decided.decision.reason if decided else "",
        "rater": decided.decision.rater if decided else "",
        "places_s": " ".join(f"{seconds(begin, rate):g}-{seconds(end, rate):g}" for begin, end in finding.places),
        "sentence": finding.sentence,
    }
