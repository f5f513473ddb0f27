"""What a trial is called above its traces."""

from phasemark.model.study import Trial
from phasemark.session.blinding import name_of
from phasemark.session.session import Session


def trial_title(session: Session, trial: Trial) -> str:
    """Whose trial it is and what was done in it, in one line; its neutral name while marking is blind."""
    name = name_of(session, trial) or _open_title(trial)
    return f"{name}  ·  excluded" if trial.excluded is not None else name


def _open_title(trial: Trial) -> str:
    load = f"  ·  {trial.load.text}" if trial.load else ""
    what = trial.exercise or str(trial.kind)
    return f"{trial.participant}  ·  {what}  ·  set {trial.set}{load}  ·  {trial.id}"
