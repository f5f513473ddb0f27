"""The figure of the rep in words: its title, what is to be known of it, and what a screen reader hears."""

from math import isfinite

from phasemark.model.marks import LOWERING, RAISING
from phasemark.session.rep_figure import FigureMuscle, FigureSide, Measure, Reading, RepFigure
from phasemark.window.traces.tick_values import MINUS, decimals_of, nice_step, number_text

ABSENT = "missing"
DASH = "–"


def amplitude_text(millivolts: float) -> str:
    """An amplitude (mV) with three significant digits, a dash where missing."""
    if not isfinite(millivolts):
        return DASH
    if millivolts == 0:
        return "0"
    return f"{millivolts:#.3g}" if abs(millivolts) >= 1e-4 else f"{millivolts:.2e}".replace("-", MINUS)


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


def side_words(side: FigureSide, measure: Measure) -> str:
    """The readings of one muscle in one phase: 'lowering: upper third 0.0182, ..., whole 0.0130'."""
    thirds = zip(side.phase.thirds, side.thirds, strict=True)
    parts = [f"{third_words(name)} {_said(reading, measure)}" for name, reading in thirds]
    return f"{side.phase.name}: {', '.join([*parts, f'whole {_said(side.whole, measure)}'])}"


def _said(reading: Reading, measure: Measure) -> str:
    number = reading.number(measure)
    if not isfinite(number):
        return ABSENT
    return f"{amplitude_text(number)}{' (moved)' if reading.moved(measure) else ''}"


def muscle_words(figure: RepFigure, place: int, measure: Measure) -> str:
    """One muscle's readings in a few sentences, with what is to be known of it."""
    muscle = figure.muscles[place]
    sentences = [f"{muscle.label}, muscle {place + 1} of {len(figure.muscles)}, {measure} in mV"]
    sentences += [side_words(side, measure) for side in muscle.sides]
    if muscle.rep is not None:
        sentences.append(f"whole repetition: {_said(muscle.rep, measure)}")
    aside = muscle_note(figure, muscle, measure)
    return ". ".join([*sentences, *([aside] if aside else [])]) + "."


def muscle_note(figure: RepFigure, muscle: FigureMuscle, measure: Measure) -> str:
    """Why a muscle is out or has no value, empty where there is nothing to say."""
    if muscle.excluded is not None and figure.excluded is None:
        return f"excluded: {muscle.excluded}" if muscle.excluded else "excluded"
    if muscle.rectified and measure is Measure.RMS:
        return "recorded rectified: no RMS"
    return ""


def figure_words(figure: RepFigure, place: int, measure: Measure) -> str:
    """The repetition and one muscle of it, for a screen reader."""
    heading = "; ".join((title_text(figure), *notes(figure)))
    return f"{heading}. {muscle_words(figure, place, measure)}" if figure.muscles else f"{heading}."


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
