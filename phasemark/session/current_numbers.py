"""Which results and facts of a study are current, from values that nobody changes: for any thread."""

from collections.abc import Iterable, Mapping

from phasemark.model.study import Study, Trial
from phasemark.results.facts import TrialFacts, facts_key, noise_rms
from phasemark.results.holds import is_hold
from phasemark.results.measure import TrialResults, results_key
from phasemark.results.numbers import Numbers
from phasemark.session.kept_keys import KeptKeys

Results = Mapping[tuple[str, str], TrialResults]
Facts = Mapping[str, TrialFacts]


def current_result(
    study: Study, rater: str, results: Results, trial: Trial, keys: KeptKeys | None = None
) -> TrialResults | None:
    """A trial's results for a rater's marks, unless they are stale or absent; keys holds what was worked out before."""
    held = results.get((trial.id, rater))
    if held is None:
        return None
    isometric = is_hold(study, trial)

    def make() -> str:
        return results_key(trial, trial.marks_of(rater), study.settings, isometric=isometric)

    key = (keys or KeptKeys()).key((trial.id, rater), (trial, study.settings, isometric), make)
    return held if held.key == key else None


def current_facts(study: Study, facts: Facts, trial: Trial, keys: KeptKeys | None = None) -> TrialFacts | None:
    """What is known of a trial's signals, unless it is stale or absent; keys holds what was worked out before."""
    held = facts.get(trial.id)
    if held is None:
        return None
    noise = noise_rms(study, facts, trial)
    key = (keys or KeptKeys()).key(
        (trial.id, f"noise {noise}"), (trial, study.settings), lambda: facts_key(trial, study.settings, noise)
    )
    return held if held.key == key else None


def current_numbers(
    study: Study,
    rater: str,
    results: Results,
    facts: Facts,
    trials: Iterable[Trial],
    *,
    keys: KeptKeys | None = None,
) -> Numbers:
    """What is current of the results and facts of some trials of a study, for tables and comparisons."""
    of = tuple(trials)
    own = {t.id: found for t in of if (found := current_result(study, rater, results, t, keys)) is not None}
    known = {t.id: its for t in of if (its := current_facts(study, facts, t, keys)) is not None}
    return Numbers(study, rater, own, known)
