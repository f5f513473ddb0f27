"""An invented study with known truth: squats with flat and with raised heels. No files, nothing of it measured."""

from phasemark.demo.invent import PARTICIPANTS, InventedTrial, invent, invent_trial
from phasemark.demo.plan import DEMO_NAME, FLAT, RAISED, Contamination, Disturbance, TrialPlan, plan_study
from phasemark.demo.truth import TruthRow
from phasemark.demo.truth_text import TRUTH_COLUMNS, truth_csv, truth_rows

__all__ = [
    "DEMO_NAME",
    "FLAT",
    "PARTICIPANTS",
    "RAISED",
    "TRUTH_COLUMNS",
    "Contamination",
    "Disturbance",
    "InventedTrial",
    "TrialPlan",
    "TruthRow",
    "invent",
    "invent_trial",
    "plan_study",
    "truth_csv",
    "truth_rows",
]
