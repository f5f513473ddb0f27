"""Facts of trials as columns of equal length, the form in which the project file keeps them."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import astuple, dataclass, fields

from phasemark.results.facts import ChannelFacts, TrialFacts
from phasemark.results.record_columns import Column, from_columns, to_columns
from phasemark.signal.attempts import Attempt
from phasemark.signal.quality.alike import PairFinding
from phasemark.signal.quality.finding import Check, Finding, Places

TRIALS, FINDINGS, ATTEMPTS = "facts", "findings", "attempts"
_MOVEMENT = -1
_NONE = -1
_NOISE = 0
_WHAT = "facts"
Tables = Mapping[str, Mapping[str, Column]]


@dataclass(frozen=True, slots=True)
class _TrialRow:
    trial: str
    key: str
    channels: int


@dataclass(frozen=True, slots=True)
class _FindingRow:
    # channel -1 is the movement trace; beside is the other channel of two that are alike, else -1.
    trial: str
    channel: int
    beside: int
    check: Check
    figure: float
    unit: str
    threshold: float
    flagged: bool
    sentence: str
    places: str


@dataclass(frozen=True, slots=True)
class _AttemptRow:
    # number counts the attempts of a channel from 1; 0 is its baseline noise.
    trial: str
    channel: int
    number: int
    rms: float
    mean_amplitude: float
    begin: int
    end: int
    mean_begin: int
    mean_end: int
    error: float
    at_edge: bool
    window_s: float
    mean_error: float


def to_tables(facts: Iterable[TrialFacts]) -> dict[str, dict[str, Column]]:
    """The tables of many trials' facts: the trials with their keys, findings, and attempts with baselines."""
    held = list(facts)
    return {
        TRIALS: to_columns(_TrialRow, [_TrialRow(f.trial, f.key, len(f.channels)) for f in held]),
        FINDINGS: to_columns(_FindingRow, [row for f in held for row in _finding_rows(f)]),
        ATTEMPTS: to_columns(_AttemptRow, [row for f in held for row in _attempt_rows(f)]),
    }


def _finding_rows(facts: TrialFacts) -> Iterator[_FindingRow]:
    for place, channel in enumerate(facts.channels):
        for finding in channel.findings:
            yield _finding_row(facts.trial, place, _NONE, finding)
    for finding in facts.movement:
        yield _finding_row(facts.trial, _MOVEMENT, _NONE, finding)
    for pair in facts.alike:
        yield _finding_row(facts.trial, pair.first, pair.second, pair.finding)


def _finding_row(trial: str, channel: int, beside: int, finding: Finding) -> _FindingRow:
    places = " ".join(f"{begin}-{end}" for begin, end in finding.places)
    return _FindingRow(
        *(trial, channel, beside, finding.check, float(finding.figure), finding.unit),
        *(float(finding.threshold), finding.flagged, finding.sentence, places),
    )


def _attempt_rows(facts: TrialFacts) -> Iterator[_AttemptRow]:
    for place, channel in enumerate(facts.channels):
        if channel.noise is not None:
            yield _AttemptRow(facts.trial, place, _NOISE, *astuple(channel.noise))
        for number, attempt in enumerate(channel.attempts, start=1):
            yield _AttemptRow(facts.trial, place, number, *astuple(attempt))


def from_tables(tables: Tables) -> dict[str, TrialFacts]:
    """The facts that were kept, by trial id; none where there are no tables of them.

    Raises:
        BadData: a column is missing.
    """
    if not tables.get(TRIALS):
        return {}
    findings: dict[tuple[str, int], list[Finding]] = {}
    pairs: dict[str, list[PairFinding]] = {}
    for row in from_columns(_FindingRow, tables[FINDINGS], _WHAT):
        finding = Finding(
            row.check, row.figure, row.unit, row.threshold, row.flagged, row.sentence, _places(row.places)
        )
        if row.beside == _NONE:
            findings.setdefault((row.trial, row.channel), []).append(finding)
        else:
            pairs.setdefault(row.trial, []).append(PairFinding(row.channel, row.beside, finding))
    attempts: dict[tuple[str, int], dict[int, Attempt]] = {}
    for held in from_columns(_AttemptRow, tables[ATTEMPTS], _WHAT):
        found = Attempt(*(getattr(held, field.name) for field in fields(Attempt)))
        attempts.setdefault((held.trial, held.channel), {})[held.number] = found

    def channel(trial: str, place: int) -> ChannelFacts:
        own = dict(attempts.get((trial, place), {}))
        noise = own.pop(_NOISE, None)
        return ChannelFacts(tuple(findings.get((trial, place), ())), tuple(own[n] for n in sorted(own)), noise)

    return {
        row.trial: TrialFacts(
            row.trial,
            row.key,
            tuple(channel(row.trial, place) for place in range(row.channels)),
            tuple(findings.get((row.trial, _MOVEMENT), ())),
            tuple(pairs.get(row.trial, ())),
        )
        for row in from_columns(_TrialRow, tables[TRIALS], _WHAT)
    }


def _places(text: str) -> Places:
    pairs = (pair.split("-") for pair in text.split())
    return tuple((int(begin), int(end)) for begin, end in pairs)
