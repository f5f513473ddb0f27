"""Marks in words, for labels, hints and screen readers. No Qt."""

from math import ceil, log10

from phasemark.model.clock import Rate, seconds
from phasemark.model.mark_edits import boundary_at
from phasemark.model.marks import DOUBTFUL, Marks, Origin, Phase, Place, Rep, third_names
from phasemark.window.traces.mark_lines import MarkLine


def time_text(sample: int, clock: Rate) -> str:
    """The time of a boundary with as many decimals as tell two samples apart ('5.812 s' at 1000 Hz)."""
    return f"{seconds(sample, clock):.{max(1, ceil(log10(float(clock)) - 1e-9))}f} s"


def boundary_word(phase: Phase, place: Place, thirds_rule: str) -> str:
    """What a boundary is in its phase ('begins', 'lower | middle')."""
    if place in (Place.BEGIN, Place.END):
        return "begins" if place is Place.BEGIN else "ends"
    names = third_names(phase, thirds_rule)
    first = 0 if place is Place.FIRST_LINE else 1
    return f"{names[first]} | {names[first + 1]}"


def place_text(marks: Marks, line: MarkLine) -> str:
    """What a boundary parts ('raising begins', 'lower | middle of raising')."""
    phase = marks.rep(line.address.rep).phases[line.address.phase]
    word = boundary_word(phase, line.address.place, marks.thirds_rule)
    return f"{phase.name} {word}" if line.address.place in (Place.BEGIN, Place.END) else f"{word} of {phase.name}"


def doubt_text(rep: Rep) -> str:
    """How doubtful a rep is and why ('doubt 0.70: range of motion 41 % below this trial's median')."""
    why = f": {'; '.join(rep.doubts)}" if rep.doubts else ""
    return f"doubt {rep.doubt:.2f}{why}" if rep.doubt > 0 else ""


def rep_sentence(rep: Rep, number: int | None) -> str:
    """A rep with all that was decided about it, by whom, and what makes it doubtful."""
    words = ["incomplete rep" if number is None else f"rep {number}"]
    if rep.excluded is not None:
        words.append(f"excluded by {rep.excluded.rater}: {rep.excluded.reason}".removesuffix(": "))
    if rep.checked is not None:
        words.append(f"checked by {rep.checked.rater}")
    return ", ".join((*words, *filter(None, [doubt_text(rep)])))


def rep_text(rep: Rep, number: int | None) -> str:
    """A rep's number and what was decided about it ('rep 3, excluded')."""
    words = ["incomplete" if number is None else f"rep {number}"]
    if rep.excluded is not None:
        words.append("excluded")
    if rep.checked is not None:
        words.append("checked")
    return ", ".join(words)


def line_text(marks: Marks, line: MarkLine, clock: Rate) -> str:
    """One boundary in a sentence: rep, place, time, and who placed it."""
    rep = marks.rep(line.address.rep)
    origin = boundary_at(marks, line.address).origin
    placed = "placed by hand" if origin is Origin.HAND else "automatic"
    where = rep_text(rep, marks.numbers().get(rep.id))
    doubt = f"; {doubt_text(rep)}" if rep.doubt >= DOUBTFUL else ""
    return f"{where}: {place_text(marks, line)} at {time_text(line.sample, clock)}, {placed}{doubt}"
