"""When results of comparisons were shown, as the ledger has it: what a plan written later has to say."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from phasemark.session.planning import COMPARED, PlanChange, plan_history
from phasemark.session.session import Session
from phasemark.store.ledger import read_ledger
from phasemark.store.ledger_lines import Action
from phasemark.worker import Job


@dataclass(frozen=True, slots=True)
class ResultsShown:
    """A comparison that was shown: when (UTC), to whom, and which, with how it stood to a plan."""

    at: str
    rater: str
    what: str


@dataclass(frozen=True, slots=True)
class ComparisonHistory:
    """Changes of the plan, and results that were shown; both oldest first."""

    changes: tuple[PlanChange, ...] = ()
    shown: tuple[ResultsShown, ...] = ()


def comparison_history(folder: Path) -> ComparisonHistory:
    """What a study's ledger says of plans and results. It reads the whole ledger.

    Raises:
        Unavailable: the ledger is missing or cannot be read.
    """
    shown = tuple(
        ResultsShown(entry.gesture.at, entry.gesture.rater, entry.gesture.what.removeprefix(COMPARED))
        for entry in read_ledger(folder).entries
        if entry.gesture.action is Action.EVENT and entry.gesture.what.startswith(COMPARED)
    )
    return ComparisonHistory(plan_history(folder), shown)


def look_up_history(
    session: Session, *, done: Callable[[ComparisonHistory], None], failed: Callable[[BaseException], None]
) -> Job[ComparisonHistory]:
    """Read the history off this thread; done gets it. On the ledger's thread, so that every edit before is in it."""
    path = session.path
    return session.worker.run(
        "looking up the plan", lambda _: comparison_history(path), on=session.worker.ledger, done=done, failed=failed
    )
