"""Which results and facts of a study are current, from values that nobody changes: for any thread."""

from collections.abc import Iterable, Mapping

from phasemark.model.study import Study, Trial
from phasemark.results.facts import TrialFacts, facts_key, noise_rms
from phasemark.results.holds import is_hold
from phasemark.results.measure import TrialResults, results_key
from phasemark.results.numbers import Numbers

Results = Mapping[tuple[str, str], TrialResults]
Facts = Mapping[str, TrialFacts]


def current_result(study: Study, rater: str, results: Results, trial: Trial) -> TrialResults | None:
    """A trial's results for a rater's marks, unless they are stale or absent."""
    held = results.get((trial.id, rater))
    if held is None:
        return None
    key = results_key(trial, trial.marks_of(rater), study.settings, isometric=is_hold(study, trial))
    return held if held.key == key else None


def current_facts(study: Study, facts: Facts, trial: Trial) -> TrialFacts | None:
    """What is known of a trial's signals, unless it is stale or absent."""
    held = facts.get(trial.id)
    if held is None or held.key != facts_key(trial, study.settings, noise_rms(study, facts, trial)):
        return None
    return held


def current_numbers(study: Study, rater: str, results: Results, facts: Facts, trials: Iterable[Trial]) -> Numbers:
    """What is current of the results and facts of some trials of a study, for tables and comparisons."""
    of = tuple(trials)
    own = {t.id: found for t in of if (found := current_result(study, rater, results, t)) is not None}
    known = {t.id: its for t in of if (its := current_facts(study, facts, t)) is not None}
    return Numbers(study, rater, own, known)
