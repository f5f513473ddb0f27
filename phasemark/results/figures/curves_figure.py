"""The picture of mean curves over 0-100 % of each phase, with SD between participants, a block for each muscle."""

from collections.abc import Sequence

import numpy as np

from phasemark.model.plan import AgainstLoad
from phasemark.model.recording import Side
from phasemark.results.figures.axes import percent_axis, value_axis
from phasemark.results.figures.description import Axis, Band, Block, Element, Entry, Figure, Line, Panel, Row
from phasemark.results.phase_curves import Over, PeopleCurve, PeopleKey, StudyCurves
from phasemark.signal.curves import POINTS

_HEIGHT_MM = 24.0
_PHASES = (AgainstLoad.WITH, AgainstLoad.AGAINST, AgainstLoad.REP)
_OVER_WORDS = {Over.TIME: ("Time", "% of phase"), Over.RANGE: ("Range of motion covered", "%")}
Found = dict[tuple[str, Side, AgainstLoad], dict[str, tuple[PeopleKey, PeopleCurve]]]


def curves_figure(
    curves: StudyCurves, levels: Sequence[str], over: Over = Over.TIME, muscles: Sequence[str] = ()
) -> Figure:
    """Mean curves of these levels, phases paired by their direction against the load.

    muscles: only these, in this order (none: all, as they are found). The mean is that over participants of their mean
    curves, the band one SD (n - 1) between participants either way.
    """
    found = _found(curves, levels, over)
    places = list(dict.fromkeys((muscle, side) for muscle, side, _ in found))
    if muscles:
        places = [place for muscle in muscles for place in places if place[0] == muscle]
        found = {key: held for key, held in found.items() if key[0] in muscles}
    blocks = tuple(_block(curves, found, of, levels, over) for of in places)
    counts = {level: _people_of(found, level) for level in levels}
    who = ", ".join(f"{level} n = {counts[level]}" for level in levels)
    return Figure(
        f"Mean curves over each phase: {' and '.join(levels)}",
        _summary(curves, found),
        blocks,
        tuple(Entry(place, level) for place, level in enumerate(levels)),
        f"Mean over participants of their mean curves; bands: 1 SD between participants either way ({who})."
        + "".join(f" {sentence}" for sentence in curves.said),
    )


def _found(curves: StudyCurves, levels: Sequence[str], over: Over) -> Found:
    found: Found = {}
    for key, curve in curves.people.items():
        if key.over is over and key.level in levels:
            found.setdefault((key.muscle, key.side, key.against), {})[key.level] = (key, curve)
    return found


def _people_of(found: Found, level: str) -> str:
    counts = sorted({held[level][1].participants for held in found.values() if level in held})
    return "0" if not counts else str(counts[0]) if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"


def _block(curves: StudyCurves, found: Found, of: tuple[str, Side], levels: Sequence[str], over: Over) -> Block:
    muscle, side = of
    phases = [phase for phase in _PHASES if (muscle, side, phase) in found]
    everything = [
        part
        for phase in phases
        for _, curve in found[muscle, side, phase].values()
        for part in (curve.mean + np.nan_to_num(curve.sd), curve.mean)
    ]
    unit = curves.unit(muscle)
    y = value_axis(np.concatenate(everything).tolist(), "EMG amplitude", unit, most=4, from_zero=True)
    x = percent_axis(*_OVER_WORDS[over])
    panels = tuple(_panel(found[muscle, side, phase], levels, x, y) for phase in phases)
    titles = tuple(_phase_title(phase, found[muscle, side, phase], levels) for phase in phases)
    title = muscle if side is Side.NONE else f"{muscle} ({side})"
    return Block(title, (Row(panels, _HEIGHT_MM),), titles, tuple(1.0 for _ in phases))


def _phase_title(phase: AgainstLoad, held: dict[str, tuple[PeopleKey, PeopleCurve]], levels: Sequence[str]) -> str:
    """The phase by its direction against the load, and the word for it, which may differ between exercises."""
    words = list(dict.fromkeys(held[level][0].phase for level in levels if level in held))
    return f"{str(phase).capitalize()} ({'/'.join(words)})"


def _panel(held: dict[str, tuple[PeopleKey, PeopleCurve]], levels: Sequence[str], x: Axis, y: Axis) -> Panel:
    percent = tuple(float(p) for p in range(POINTS))
    bands: list[Element] = []
    lines: list[Element] = []
    for series, level in enumerate(levels):
        if level not in held:
            continue
        curve = held[level][1]
        low, high = np.maximum(curve.mean - curve.sd, y.low), curve.mean + curve.sd
        bands.append(Band(percent, tuple(low.tolist()), tuple(high.tolist()), series))
        lines.append(Line(percent, tuple(curve.mean.tolist()), series, width_pt=1.2))
    return Panel(x, y, (*bands, *lines))


def _summary(curves: StudyCurves, found: Found) -> str:
    sentences = []
    for (muscle, side, phase), held in found.items():
        for level, (_, curve) in held.items():
            if np.isfinite(curve.mean).any():
                place = int(np.nanargmax(curve.mean))
                where = muscle if side is Side.NONE else f"{muscle} ({side})"
                highest = f"{curve.mean[place]:.3g} {curves.unit(muscle)} at {place} %"
                sentences.append(f"{where}, {phase}, {level}: highest mean {highest}.")
    return " ".join(sentences)
