"""The figure of the rep in words: its title, what is to be known of it, and what a screen reader hears."""

from math import floor, isfinite, log10

from phasemark.model.marks import LOWERING, RAISING
from phasemark.results.sensitivity import Undetermined
from phasemark.session.rep_figure import FigureMuscle, FigureSide, Measure, PhaseMotion, Reading, RepFigure, Unit
from phasemark.window.traces.tick_values import MINUS, decimals_of, nice_step, number_text

ABSENT = "missing"
DASH = "–"
NOTED = "*"
"""Stands beside a value of which there is more to know."""
ERROR, SHIFT = "±", "↔"
NO_INTERVAL = "sampling error of this stretch, no interval between people"
NOT_DETERMINED = "not determined"


def amplitude_text(millivolts: float) -> str:
    """An amplitude (mV) with three significant digits, a dash where missing."""
    if not isfinite(millivolts):
        return DASH
    if millivolts == 0:
        return "0"
    return f"{millivolts:#.3g}" if abs(millivolts) >= 1e-4 else f"{millivolts:.2e}".replace("-", MINUS)


def _share_text(number: float, unit: Unit) -> str:
    """A share as a percentage, or points of percent as they are."""
    shown = number if unit is Unit.PERCENT else 100 * number
    return f"{shown:.1f}" if shown < 9.95 else f"{shown:.0f}"


def _with_unit(number: float, unit: Unit) -> str:
    return _share_text(number, unit) + ("" if unit is Unit.PERCENT else " %")


def error_text(reading: Reading, measure: Measure, unit: Unit) -> str:
    """The sampling error as it stands below a value: a share of a value in mV, points below a percentage."""
    error = reading.error(measure, unit)
    return f"{ERROR}{_with_unit(error, unit) if isfinite(error) else DASH}"


def shift_text(reading: Reading, measure: Measure, unit: Unit) -> str:
    """How far moved boundaries shift a value, as it stands below it."""
    shift = reading.shift(measure, unit)
    return f"{SHIFT}{_with_unit(shift, unit) if isfinite(shift) else DASH}"


def unit_words(unit: Unit) -> str:
    """A unit as it is read after a number."""
    return "% of the reference" if unit is Unit.PERCENT else str(unit)


def trust_sentences(reading: Reading, measure: Measure, unit: Unit, shift_s: float) -> tuple[str, ...]:
    """How far a value can be trusted, in sentences; none while a boundary is on its way."""
    if reading.further is None or not isfinite(reading.number(measure, unit)):
        return reading.notes
    of = "points" if unit is Unit.PERCENT else "of the value"
    error, shift = reading.error(measure, unit), reading.shift(measure, unit)
    by = f"Boundaries moved by ±{1000 * shift_s:g} ms"
    said = [
        f"{ERROR} {_with_unit(error, unit)} {of}: {NO_INTERVAL}."
        if isfinite(error)
        else f"The sampling error is {NOT_DETERMINED}.",
        f"{by} shift it by up to {_with_unit(shift, unit)} {of}."
        if isfinite(shift)
        else f"{by}: the shift is {NOT_DETERMINED}{_why(reading.why_no_shift)}.",
    ]
    if isfinite(reading.further.peak):
        said.append(f"Highest envelope {amplitude_text(reading.further.peak)} mV at {reading.further.peak_at_s:.3f} s.")
    if isfinite(reading.further.median_hz):
        said.append(f"Median frequency {reading.further.median_hz:.0f} Hz; it also changes with muscle length.")
    return (*said, *reading.notes)


def _why(why: Undetermined) -> str:
    return f", since {why}" if why else ""


def reading_sentences(figure: RepFigure, at: tuple[int, str, str], measure: Measure, unit: Unit) -> tuple[str, ...]:
    """One value in words, and how far it can be trusted; at is a muscle, a phase, and a third or 'whole'."""
    place, phase, third = at
    muscle = figure.muscles[place]
    for side in muscle.sides:
        if side.phase.name != phase:
            continue
        thirds = dict(zip(side.phase.thirds, side.thirds, strict=True))
        reading = thirds.get(third, side.whole)
        part = third_words(third) if third in thirds else "whole phase"
        number = reading.number(measure, unit)
        shown = f"{number:.1f}" if unit is Unit.PERCENT else amplitude_text(number)
        value = f"{shown} {unit_words(unit)}" if isfinite(number) else ABSENT
        first = f"{muscle.label}, {phase}, {part}: {measure} {value}."
        return (first, *trust_sentences(reading, measure, unit, figure.shift_s))
    return ()


def motion_words(of: PhaseMotion, unit: str) -> str:
    """How a phase went, in one line."""
    planned = "" if of.prescribed_s is None else f" (planned {of.prescribed_s:g} s)"
    parts = [f"{of.name} {of.duration_s:.2f} s{planned}"]
    motion = of.motion
    if isfinite(motion.range_of_motion):
        parts.append(f"range {motion_number(motion.range_of_motion)} {unit}".strip())
    for name, speed in (("mean speed", motion.mean_speed), ("peak speed", motion.peak_speed)):
        if isfinite(speed):
            parts.append(f"{name} {motion_number(speed)} {unit}/s".strip())
    if of.sticking is not None:
        parts.append(f"sticking region {motion.sticking_begin_s:.2f} to {motion.sticking_end_s:.2f} s")
    return ", ".join(parts)


def motion_number(value: float) -> str:
    """A range or a speed with three significant digits, all whole ones where there are more, a dash where missing."""
    if not isfinite(value):
        return DASH
    return number_text(value, max(0, 2 - floor(log10(abs(value)))) if value else 0)


def title_text(figure: RepFigure) -> str:
    """Which repetition this is."""
    if figure.number is None:
        only = f": {figure.phases[0].name} only" if len(figure.phases) == 1 else ""
        return f"Incomplete repetition{only}"
    return f"Repetition {figure.number} of {figure.complete_reps}"


def titles(figure: RepFigure, seen: tuple[int, int]) -> tuple[str, ...]:
    """The title with the muscles that are seen (first and last place), the longest way of saying it first."""
    whole = title_text(figure)
    short = "Incomplete" if figure.number is None else f"Rep {figure.number} of {figure.complete_reps}"
    first, last, count = seen[0] + 1, seen[1] + 1, len(figure.muscles)
    if last - first + 1 == count:
        return whole, short
    run = f"{first} to {last}" if first < last else str(first)
    return (
        f"{whole}  ·  {'muscles' if first < last else 'muscle'} {run} of {count}",
        f"{whole}  ·  {run} of {count}",
        f"{short}  ·  {run} of {count}",
        short,
    )


def notes(figure: RepFigure) -> tuple[str, ...]:
    """What is to be known of the repetition: excluded, not counted, doubt, no movement trace, checked."""
    found = []
    if figure.excluded is not None:
        found.append(f"excluded: {figure.excluded}" if figure.excluded else "excluded")
    elif not figure.counted and figure.reason:
        found.append(f"not counted: {figure.reason}")
    if figure.axis.of_time:
        found.append("no movement trace here: drawn against the time since each phase began")
    if figure.doubts:
        found.append(f"doubt {figure.doubt:.2f}: {'; '.join(figure.doubts)}")
    if figure.checked:
        found.append("checked")
    return tuple(found)


def position_text(figure: RepFigure, position: float) -> str:
    """A value of the vertical axis, with as many decimals as tell a three-hundredth of the rep's range."""
    reach = abs(figure.axis.top - figure.axis.bottom)
    return number_text(position, decimals_of(nice_step(reach / 300)) if reach > 0 else 2)


def third_words(name: str) -> str:
    """A third as it is said ('upper third')."""
    return f"{name} third"


def side_words(side: FigureSide, measure: Measure, unit: Unit = Unit.MILLIVOLTS) -> str:
    """The readings of one muscle in one phase: 'lowering: upper third 0.0182, ..., whole 0.0130'."""
    thirds = zip(side.phase.thirds, side.thirds, strict=True)
    parts = [f"{third_words(name)} {_said(reading, measure, unit)}" for name, reading in thirds]
    return f"{side.phase.name}: {', '.join([*parts, f'whole {_said(side.whole, measure, unit)}'])}"


def _said(reading: Reading, measure: Measure, unit: Unit) -> str:
    number = reading.number(measure, unit)
    if not isfinite(number):
        return ABSENT
    shown = f"{number:.1f}" if unit is Unit.PERCENT else amplitude_text(number)
    error = reading.error(measure, unit)
    trust = f" {ERROR} {_with_unit(error, unit)}" if isfinite(error) else ""
    return f"{shown}{trust}{' (moved)' if reading.moved(measure) else ''}"


def muscle_words(figure: RepFigure, place: int, measure: Measure, unit: Unit = Unit.MILLIVOLTS) -> str:
    """One muscle's readings in a few sentences, with what is to be known of it."""
    muscle = figure.muscles[place]
    sentences = [f"{muscle.label}, muscle {place + 1} of {len(figure.muscles)}, {measure} in {unit_words(unit)}"]
    sentences += [side_words(side, measure, unit) for side in muscle.sides]
    if muscle.rep is not None:
        sentences.append(f"whole repetition: {_said(muscle.rep, measure, unit)}")
    aside = muscle_note(figure, muscle, measure, unit)
    return ". ".join([*sentences, *([aside] if aside else [])]) + "."


def muscle_note(figure: RepFigure, muscle: FigureMuscle, measure: Measure, asked: Unit = Unit.MILLIVOLTS) -> str:
    """Why a muscle is out or has no value in what was asked for, empty where there is nothing to say."""
    if muscle.excluded is not None and figure.excluded is None:
        return f"excluded: {muscle.excluded}" if muscle.excluded else "excluded"
    if muscle.rectified and measure is Measure.RMS:
        return "recorded rectified: no RMS"
    if asked is Unit.PERCENT and figure.scaled and not muscle.reference > 0:
        return "no reference: mV"
    return ""


def figure_words(figure: RepFigure, place: int, measure: Measure, unit: Unit = Unit.MILLIVOLTS) -> str:
    """The repetition and one muscle of it, for a screen reader."""
    heading = "; ".join((title_text(figure), *notes(figure)))
    return f"{heading}. {muscle_words(figure, place, measure, unit)}" if figure.muscles else f"{heading}."


def pointed_words(figure: RepFigure, place: int, position: float) -> str:
    """What is at a position in one muscle: for each phase the time it first gets there, and the envelope then."""
    muscle, axis = figure.muscles[place], figure.axis
    parts = []
    for side in muscle.sides:
        time = side.curve.time_at(position)
        if time is not None:
            at = side.curve.envelope_at(time)
            said = f"{amplitude_text(at)} mV" if isfinite(at) else "no envelope"
            parts.append(f"{side.phase.name} at {time:.3f} s, {said}")
        else:
            parts.append(f"{side.phase.name} does not get there")
    return f"{position_text(figure, position)} {axis.unit}".strip() + f" · {muscle.label} · {' · '.join(parts)}"


def is_left(phase: str) -> bool:
    """Whether a phase is drawn left of the centre line: lowering is, raising and bursts are not."""
    return phase == LOWERING


def one_sided(figure: RepFigure) -> bool:
    """Whether nothing is ever drawn left of the centre line: bursts have no other phase beside them."""
    return all(phase.name not in (LOWERING, RAISING) for phase in figure.phases)
