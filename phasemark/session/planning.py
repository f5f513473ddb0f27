"""The analysis plan: written down in the ledger with its time, changed only so that the change is seen."""

from dataclasses import dataclass
from pathlib import Path

from phasemark.model.plan import AnalysisPlan
from phasemark.model.study_edits import with_plan
from phasemark.session.plan_text import changed_keys
from phasemark.session.session import Session
from phasemark.store.ledger import read_ledger
from phasemark.store.ledger_lines import Action

COMPARED = "compared "
"""How the event in the ledger begins that says a comparison was shown."""


@dataclass(frozen=True, slots=True)
class PlanChange:
    """One change of the plan in the ledger: when (UTC), by whom, how, and what differs (key, before, after).

    after_results: whether a comparison had been shown before. reason: why, where one was given.
    """

    at: str
    rater: str
    action: Action
    before: AnalysisPlan | None
    after: AnalysisPlan | None
    changes: tuple[tuple[str, str, str], ...]
    after_results: bool
    reason: str = ""

    @property
    def text(self) -> str:
        """In words."""
        when = f"{self.at[:16].replace('T', ' ')} UTC, {self.rater}"
        late = ", after results had been shown" if self.after_results else ""
        why = f" ({self.reason})" if self.reason else ""
        how = "" if self.action is Action.EDIT else f" ({self.action})"
        if self.before is None or self.after is None:
            return f"{when}: plan {'written' if self.after is not None else 'removed'}{how}{late}{why}"
        listed = "; ".join(f"{key}: {old or 'nothing'} -> {new or 'nothing'}" for key, old, new in self.changes)
        return f"{when}: plan changed{how}{late}{why}: {listed or 'only its date or reason'}"


def set_plan(session: Session, plan: AnalysisPlan | None) -> bool:
    """Write a plan down, in place of any before, or take it away (None); returns whether anything changed.

    A plan that says the same as the one before keeps that one's date.

    Raises:
        Unavailable: the study is read-only, and why.
    """
    before = session.study.plan
    changes = changed_keys(before, plan)
    if not changes:
        return False
    if plan is None:
        words = "removed the analysis plan"
    else:
        words = "analysis plan: " + ", ".join(f"{key}={new}" for key, _, new in changes)
    return session.edit(words, with_plan(session.study, plan))


def plan_history(folder: Path) -> tuple[PlanChange, ...]:
    """Every change of the plan that is in a study's ledger, oldest first. It reads the whole ledger.

    Raises:
        Unavailable: the ledger is missing or cannot be read.
    """
    found: list[PlanChange] = []
    shown = False
    for entry in read_ledger(folder).entries:
        gesture = entry.gesture
        if gesture.action is Action.EVENT:
            shown = shown or gesture.what.startswith(COMPARED)
            continue
        for change in gesture.changes:
            if change.key.part != "plan":
                continue
            before, after = (part if isinstance(part, AnalysisPlan) else None for part in (change.before, change.after))
            reason = after.decision.reason if after is not None else ""
            differs = changed_keys(before, after)
            found.append(PlanChange(gesture.at, gesture.rater, gesture.action, before, after, differs, shown, reason))
    return tuple(found)
