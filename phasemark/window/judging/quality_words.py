"""What the page of signal quality says in words."""

from phasemark.session.judgement_tables import QualityRow, QualityTable, figure_text
from phasemark.window.judging.quality_model import Which, limit_text


def verdict(row: QualityRow) -> str:
    """The figure of a check beside its limit."""
    flagged = "flagged" if row.flagged else "not flagged"
    return f"{figure_text(row.figure, row.unit)}, {flagged}: the limit is {limit_text(row)}."


def unmeasured_words(count: int) -> str:
    """Of how many trials the signals were not checked as they are now; 'checked' alone is said of boundaries."""
    of = "1 trial as it is now" if count == 1 else f"{count} trials as they are now"
    return f"Signals not checked yet: {of}."


def capital(text: str) -> str:
    """A text with its first letter as a capital."""
    return text[:1].upper() + text[1:]


def empty_words(table: QualityTable, which: Which, trial: str, sought: str) -> str:
    """Why no row is listed, and what to do next; trial is the one whose checks alone are listed, '' for all."""
    if not table.rows:
        missing = "No signal has been checked yet. Measuring the study checks every channel."
        return missing if table.unmeasured else "There is nothing to check yet; add recordings first."
    if trial in table.unmeasured:
        return "The signals of this trial have not been checked as they are now; measure first."
    if sought.strip():
        return "No check that is listed holds these words."
    return _none_of(table, which, trial)


def _none_of(table: QualityTable, which: Which, trial: str) -> str:
    where = "this trial" if trial else "the study"
    rows = [row for row in table.rows if trial in ("", row.trial)]
    if which is Which.DECIDED:
        return f"Nothing in {where} was accepted or excluded yet."
    if which is Which.TO_DECIDE and any(row.flagged for row in rows):
        return f"All that was flagged in {where} has been decided."
    count = "1 check" if len(rows) == 1 else f"{len(rows)} checks"
    return f"No check found anything to look at in {where} ({count})."
