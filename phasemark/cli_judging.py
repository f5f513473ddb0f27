"""Commands about signals and references: what the checks found, what muscles are normalised to, and judgements."""

import argparse
from collections.abc import Callable
from math import isfinite

from phasemark.model.errors import BadCall
from phasemark.model.intervals import Purpose
from phasemark.model.recording import EmgChannel, Side
from phasemark.model.study import Trial
from phasemark.results.numbers import Numbers

_MOST_PLACES = 3
Say = Callable[[str], None]
Progress = Callable[[str], Callable[[float], None]]


def quality(
    options: argparse.Namespace, say: Say, warn: Say, progress: Callable[[str], Callable[[float], None]]
) -> int:
    """What the quality checks found; those that want a look, or all."""
    from phasemark.results.quality_rows import quality_rows

    numbers = _numbers(options, warn, progress)
    wanted = _wanted(numbers, options)
    rows = [row for row in quality_rows(numbers.study, numbers.facts) if not wanted or row["trial"] in wanted]
    shown = [row for row in rows if options.all or row["flagged"]]
    for row in shown:
        where = f"{row['trial']} ({row['participant']}, {row['exercise'] or row['kind']})"
        side = "" if row["side"] in ("", "none") else f" ({row['side']})"
        muscle = f", {row['muscle']}{side}" if row["muscle"] else ""
        places = _places(str(row["places_s"]))
        decided = f" Accepted by {row['rater']}: {row['reason']}." if row["accepted"] else ""
        say(f"{where}{muscle}, {row['check']}: {row['sentence']}{places}{decided}")
    if not shown:
        say("No check found anything to look at." if rows else "There is nothing to check yet; add recordings first.")
    return 0


def references(options: argparse.Namespace, say: Say, warn: Say, progress: Progress) -> int:
    """The reference of each muscle, what it was made from, and what to say of it."""
    from phasemark.results.reference_rows import reference_notes

    numbers = _numbers(options, warn, progress)
    for whose, found in numbers.normalisers.items():
        side = "" if whose.side == "none" else f" ({whose.side})"
        name = f"{whose.participant}, session {whose.session}, {whose.muscle}{side}"
        if found.reference is None:
            warn(f"{name}: {' '.join(reference_notes(found))}")
            continue
        error = f" +- {100 * found.rms_error:.1f} % (sampling error)" if isfinite(found.rms_error) else ""
        made_from = found.reference.used or found.reference.mean_used
        used = ", ".join(dict.fromkeys(found.attempts[n].trial for n in made_from))
        say(f"{name}: RMS {found.rms:.6g} mV, mean amplitude {found.mean_amplitude:.6g} mV{error}, from {used}")
        for sentence in reference_notes(found):
            warn(f"{name}: {sentence}")
    if not numbers.normalisers:
        say("Nothing is normalised (normalisation.approach is none), or there is no trial yet.")
    return 0


def _places(places_s: str) -> str:
    """Where it was found, in words: the first few places; quality.csv of an export has all."""
    places = places_s.split()
    if not places:
        return ""
    more = f" and {len(places) - _MOST_PLACES} more" if len(places) > _MOST_PLACES else ""
    return f" At {', '.join(places[:_MOST_PLACES])} s{more}."


def accept(options: argparse.Namespace, say: Say, warn: Say) -> int:
    """Accept what a check found, with a reason, or take that back."""
    from phasemark.session.command_session import open_for_command
    from phasemark.session.judging import accept_finding
    from phasemark.session.session import known_trial
    from phasemark.signal.quality.finding import Check

    if options.check not in set(Check):
        raise BadCall(f"There is no check {options.check!r}; there are {', '.join(Check)}.")
    changed = False
    with open_for_command(options.study, warn, rater=options.rater) as at:
        trial = known_trial(at.session.study, options.trial)
        reason = None if options.take_back else options.reason
        for channel in _channels(trial, options.muscle, options.side) or (None,):
            trial = at.session.study.trial(trial.id)
            changed |= accept_finding(at.session, trial, options.check, channel, reason)
    say("Done." if changed else "Nothing changed.")
    return 0


def interval(options: argparse.Namespace, say: Say, warn: Say) -> int:
    """Place an interval for the baseline, a plateau or a hold, or take it away."""
    from phasemark.session.command_session import open_for_command
    from phasemark.session.judging import interval_samples, place_interval, remove_interval, useless_interval
    from phasemark.session.session import known_trial

    purpose, changed, useless = Purpose(options.purpose), False, ""
    with open_for_command(options.study, warn, rater=options.rater) as at:
        trial = known_trial(at.session.study, options.trial)
        for channel in _channels(trial, options.muscle, options.side) or (None,):
            trial = at.session.study.trial(trial.id)
            if options.take_away:
                about = (channel.muscle, channel.side) if channel else ("", "none")
                for held in trial.intervals:
                    if held.purpose is purpose and (held.muscle, held.side) == about:
                        changed |= remove_interval(at.session, trial, held)
                continue
            if options.begin is None or options.end is None:
                raise BadCall("An interval needs --begin and --end in seconds, or --take-away.")
            begin, end = interval_samples(trial, options.begin, options.end)
            changed |= place_interval(
                at.session, trial, purpose, begin=begin, end=end, channel=channel, reason=options.reason
            )
            useless = useless_interval(at.session.study, trial, purpose)
    say("Done." if changed else "Nothing changed.")
    if useless:
        warn(useless)
    return 0


def reference(options: argparse.Namespace, say: Say, warn: Say) -> int:
    """Choose the reference of a muscle by hand, with a reason, or go back to the rule."""
    from phasemark.session.command_session import open_for_command
    from phasemark.session.judging import borrow_reference, choose_attempt, forget_choice
    from phasemark.session.session import known_trial

    changed = False
    with open_for_command(options.study, warn, rater=options.rater) as at:
        session = at.session
        if options.take_back:
            for held in session.study.references:
                about = (held.participant, held.session) == (options.participant, options.session)
                if about and held.muscle == options.muscle and options.side in (None, held.side):
                    changed |= forget_choice(session, held)
        elif options.trial:
            trial = known_trial(session.study, options.trial)
            if trial.participant != options.participant or trial.session != options.session:
                raise BadCall(
                    f"Trial {trial.id} is of {trial.participant}, session {trial.session}; an attempt serves its own "
                    "session, and --from-session takes that of another."
                )
            for channel in _channels(trial, options.muscle, options.side):
                changed |= choose_attempt(session, trial, channel, options.reason or "")
        elif options.from_session:
            for side in _sides(session.study.trials, options):
                changed |= borrow_reference(
                    session,
                    options.participant,
                    options.session,
                    muscle=options.muscle,
                    side=side,
                    from_session=options.from_session,
                    reason=options.reason or "",
                )
        else:
            raise BadCall("Say which reference: --trial T, --from-session S, or --take-back.")
    say("Done." if changed else "Nothing changed.")
    return 0


def _numbers(options: argparse.Namespace, warn: Say, progress: Progress) -> Numbers:
    """All numbers of the study, measured first where they are not current."""
    from phasemark.session.command_session import Need, open_for_command
    from phasemark.session.measuring import measure, stale_trials

    with open_for_command(options.study, warn, need=Need.WRITE_IF_POSSIBLE, rater=options.rater) as at:
        stale = stale_trials(at.session)
        if stale:
            measured = at.wait(lambda **back: measure(at.session, stale, **back), progress("measuring"))
            for problem in measured.problems:
                warn(str(problem))
        return at.session.numbers()


def _wanted(numbers: Numbers, options: argparse.Namespace) -> frozenset[str]:
    from phasemark.session.session import known_trial

    return frozenset({known_trial(numbers.study, options.trial).id} if options.trial else ())


def _channels(trial: Trial, muscle: str | None, side: str | None) -> tuple[EmgChannel, ...]:
    from phasemark.session.excluding import channels_named

    if side and not muscle:
        raise BadCall("--side belongs to --muscle; name the muscle too.")
    return channels_named(trial, muscle, side) if muscle else ()


def _sides(trials: tuple[Trial, ...], options: argparse.Namespace) -> list[Side]:
    found = {
        channel.side
        for trial in trials
        if (trial.participant, trial.session) == (options.participant, options.session)
        for channel in trial.emg
        if channel.muscle == options.muscle and options.side in (None, channel.side)
    }
    if not found:
        raise BadCall(
            f"{options.participant} has no muscle {options.muscle!r} in session {options.session}; "
            "'phasemark references' lists all."
        )
    return sorted(found)
