"""What the page of references says in words."""

from math import isfinite

from phasemark.model.normalisation import Approach, ReferenceChoice
from phasemark.session.reference_pictures import ReferencePicture, ReferencesPicture
from phasemark.window.judging.references_model import millivolts, percent

CAUTION = "Maximal contractions: follow local rules, ethics approval and licensed practice; stop at pain. No diagnosis."
"""Stands wherever maximal contractions are asked of people (common practice, no source)."""
_BLIND = "Marking is blind: amplitudes are hidden until it is switched off."


def value_words(row: ReferencePicture) -> str:
    """The reference with its sampling errors."""
    if not row.there:
        return "No reference: this muscle is reported in mV."
    parts = []
    for name, value, error in (
        ("RMS", row.rms, row.rms_error),
        ("mean amplitude", row.mean_amplitude, row.mean_error),
    ):
        if isfinite(value):
            known = f" ± {percent(error)}" if isfinite(error) else ""
            parts.append(f"{name} {millivolts(value)} mV{known}")
    return f"{', '.join(parts)} (± is the sampling error)."


def fact_lines(row: ReferencePicture) -> tuple[str, ...]:
    """What is known of a reference beside its value, a line for each."""
    lines = []
    if row.apart is not None and not any("apart" in note for note in row.notes):  # which say it with its limit
        lines.append(f"The best two attempts are {percent(row.apart)} apart.")
    if isfinite(row.after_over_before):
        lines.append(f"After the sets it is {percent(row.after_over_before)} of what it was before them.")
    if isfinite(row.noise_rms):
        lines.append(f"The baseline of {1000 * row.noise_rms:.3g} µV RMS is subtracted.")
    if row.decision is not None:
        decision = row.decision.decision
        what = (
            f"trial {row.decision.trial}"
            if row.decision.choice is ReferenceChoice.ATTEMPT
            else f"the reference of session {row.decision.from_session}"
        )
        lines.append(f"{decision.rater} chose {what}: {decision.reason}.")
    return tuple(lines)


def empty_words(picture: ReferencesPicture, unmeasured: int) -> str:
    """Why there is no reference to show, and what to do next."""
    if picture.blind:
        return _BLIND
    if not picture.trials:
        return "There is no trial yet; add recordings first."
    if picture.approach is Approach.NONE:
        return "Nothing is normalised: amplitudes are reported in mV. An approach is chosen in the settings."
    if unmeasured:
        return "No reference is known yet. Measuring the study finds them."
    return "No trial holds a muscle that could have a reference; add MVIC, reference or task trials."
