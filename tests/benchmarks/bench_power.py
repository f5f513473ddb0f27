"""Whether the demo study's invented effects are found where they were put and not where they were not, over seeds.

    python tests/benchmarks/bench_power.py [seeds] [participants] [first seed] [processes]

Each seed invents a whole study with all its disturbances, which is marked, measured, normalised to MVIC and compared
by one plan over the family of all muscles, phases and thirds. A place counts as found where the verdict is 'more' on
the side it was put (after Holm's correction). The power stated for a place is that of a paired t test, at the level
that Holm's first step asks, for the effect that the invention implies; EMG's own chance is not in it.
"""

import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain
from time import perf_counter

from scipy.stats import beta

from phasemark.demo import invent
from phasemark.demo.activation import HEEL_EFFECTS, MUSCLES, THIRDS, implied_d_z
from phasemark.demo.invent import InventedTrial
from phasemark.demo.plan import FLAT, RAISED
from phasemark.model.marks import LOWERING, RAISING, Decision
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.study import Kind, RecordingRef, Study, Trial
from phasemark.results.comparison.report import compare_numbers
from phasemark.results.comparison.verdict import Verdict
from phasemark.results.facts import TrialFacts, noise_rms, trial_facts
from phasemark.results.measure import TrialResults, condition_trial, measure_rep
from phasemark.results.numbers import Numbers
from phasemark.session.marking import first_phases, look_at, marks_from
from phasemark.statistics.power import paired_power
from phasemark.store.recordings import StoredRecording

Place = tuple[str, str, str]
PLACES: tuple[Place, ...] = tuple((m.name, p, t) for m in MUSCLES for p in (RAISING, LOWERING) for t in THIRDS)
PRIMARY: Place = ("vastus medialis", RAISING, "lower")
ALPHA = 0.05
SMALLEST = 2.0  # percentage points
_PHASES = {RAISING: AgainstLoad.AGAINST, LOWERING: AgainstLoad.WITH}


@dataclass(frozen=True)
class Outcomes:
    """What one study came to: the primary verdict, and the places found to have more, raised or flat."""

    seed: int
    primary: Verdict
    found: frozenset[Place]
    wrong_way: frozenset[Place]
    similar: frozenset[Place]


def plan() -> AnalysisPlan:
    """Raised against flat heels, all muscles, both phases, the three thirds."""
    return AnalysisPlan(
        "exercise", RAISED, FLAT, Outcome.RMS, tuple(m.name for m in MUSCLES), tuple(_PHASES.values()), THIRDS,
        PRIMARY[0], _PHASES[PRIMARY[1]], PRIMARY[2], SMALLEST, Decision("R1", "2026-01-01T00:00:00.000Z"),
    )  # fmt: skip


def _trial(number: int, made: InventedTrial) -> tuple[Trial, StoredRecording]:
    recording = made.recording
    lengths = [tuple(len(values) for values in held) for held in (recording.emg_values, recording.movement_values)]
    ref = RecordingRef(f"R{number:04d}", "", 0, "0" * 64, lengths[0], lengths[1])
    trial = Trial(
        f"T{number:03d}", made.participant, ref, recording.emg, recording.movement, made.kind, made.exercise,
        made.session, made.set, made.order, made.load, made.factors,
    )  # fmt: skip
    return trial, StoredRecording(recording.emg_values, recording.movement_values, (), ())


def study_numbers(seed: int, participants: int) -> Numbers:
    """A whole invented study marked and measured in memory, by the functions of the program."""
    made = [_trial(number, one) for number, one in enumerate(invent(seed, participants), 1)]
    stored = {trial.id: held for trial, held in made}
    study = Study(f"seed {seed}", tuple(trial for trial, _ in made))
    settings = study.settings
    seen = [look_at(trial, held, settings, "R1") for trial, held in made if trial.kind is Kind.TASK]
    first = first_phases(study, seen)
    marks = {one.trial.id: marks_from(one, first[one.trial.exercise], settings, "R1") for one in seen}
    trials = tuple(t.with_marks(marks[t.id]) if t.id in marks else t for t in study.trials)
    study = replace(study, trials=trials)
    facts: dict[str, TrialFacts] = {}
    results: dict[str, TrialResults] = {}
    for trial in sorted(trials, key=lambda t: t.kind is not Kind.QUIET):
        held = stored[trial.id]
        conditioned = condition_trial(trial, held.emg_values, settings)
        if trial.kind is Kind.TASK:
            found = marks[trial.id]
            values = (measure_rep(trial, rep, found.thirds_rule, conditioned, settings) for rep in found.reps)
            results[trial.id] = TrialResults(trial.id, "R1", "", tuple(chain.from_iterable(values)))
        else:
            both = held.emg_values, held.movement_values
            facts[trial.id] = trial_facts(trial, both, conditioned, settings, noise_rms(study, facts, trial))
    return Numbers(study, "R1", results, facts)


def one_seed(seed: int, participants: int) -> Outcomes:
    """Invent, measure and compare one study."""
    report = compare_numbers(study_numbers(seed, participants), plan())
    words = {phase: word for word, phase in _PHASES.items()}
    found: set[Place] = set()
    wrong: set[Place] = set()
    similar: set[Place] = set()
    primary = Verdict.NOT_SETTLED
    for cell in report.comparison.cells:
        assert cell.detail is not None
        place = (cell.place.muscle, words[cell.place.phase], cell.place.third)
        if cell.primary:
            primary = cell.detail.verdict
        if cell.detail.p_holm < ALPHA:
            right = (cell.difference.mean > 0) == (HEEL_EFFECTS.get(place, 0.0) > 1)
            (found if right or place not in HEEL_EFFECTS else wrong).add(place)
        if cell.detail.verdict is Verdict.SIMILAR:
            similar.add(place)
    return Outcomes(seed, primary, frozenset(found), frozenset(wrong), frozenset(similar))


def in_brief(one: Outcomes) -> str:
    """One study in a line: its primary verdict, what was missed, what was found where nothing was put."""
    put = set(HEEL_EFFECTS)
    missed, more = (["/".join(place) for place in sorted(places)] for places in (put - one.found, one.found - put))
    return f"seed {one.seed}: primary {one.primary}; missed {missed or 'none'}; found elsewhere {more or 'nothing'}"


def share(count: int, of: int) -> str:
    """A share of seeds with its exact interval (Clopper & Pearson 1934, Biometrika 26:404-413: from memory)."""
    low = 0.0 if count == 0 else beta.ppf(0.025, count, of - count + 1)
    high = 1.0 if count == of else beta.ppf(0.975, count + 1, of - count)
    return f"{count}/{of} ({100 * low:.1f} to {100 * high:.1f} %)"


def lines(outcomes: list[Outcomes], participants: int) -> Iterator[str]:
    """What came of all seeds."""
    n = len(outcomes)
    put = set(HEEL_EFFECTS)
    yield f"{n} seeds, {participants} participants each, family of {len(PLACES)}, of which {len(put)} hold an effect"
    right = sum(one.primary is Verdict.MORE_IN_A for one in outcomes)
    power = paired_power(implied_d_z(HEEL_EFFECTS[PRIMARY]), participants, alpha=ALPHA)
    yield f"primary found: {share(right, n)}; stated power {power:.4f}"
    counts = Counter(place for one in outcomes for place in one.found)
    for place in PLACES:
        if place in put:
            d_z = implied_d_z(HEEL_EFFECTS[place])
            stated = paired_power(d_z, participants, alpha=ALPHA / len(PLACES))
            about = f"ratio {HEEL_EFFECTS[place]:.2f}, d_z {d_z:.2f}, stated power {stated:.4f}"
            yield f"  put in {', '.join(place)} ({about}): found {share(counts[place], n)}"
    elsewhere = {place: counts[place] for place in PLACES if place not in put and counts[place]}
    yield f"all effects found in one study: {share(sum(one.found >= put for one in outcomes), n)}"
    yield f"nothing found where nothing was put: {share(sum(one.found <= put for one in outcomes), n)}"
    yield "primary found, and nothing where nothing was put: " + share(
        sum(one.primary is Verdict.MORE_IN_A and one.found <= put for one in outcomes), n
    )
    yield f"found the wrong way round: {sum(bool(one.wrong_way) for one in outcomes)} studies"
    yield f"found where nothing was put: {elsewhere or 'nowhere'}"
    nothing = len(PLACES) - len(put)
    similar = sum(len(one.similar - put) for one in outcomes)
    yield f"called similar (within {SMALLEST:g} points) where nothing was put: {share(similar, nothing * n)} of places"


def main() -> None:
    """Run the seeds and print what came of them."""
    seeds, participants, first, processes = (
        int(sys.argv[place]) if len(sys.argv) > place else default
        for place, default in ((1, 100), (2, 12), (3, 1), (4, 2))
    )
    begin, outcomes = perf_counter(), list[Outcomes]()
    with ProcessPoolExecutor(processes) as pool:
        for one in pool.map(partial(one_seed, participants=participants), range(first, first + seeds)):
            outcomes.append(one)
            print(in_brief(one), file=sys.stderr, flush=True)
    for line in lines(outcomes, participants):
        print(line)
    print(f"{perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main()
