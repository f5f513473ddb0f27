"""Ready scripts that fit mixed models to the exported values, in Python (statsmodels) and R (lme4, lmerTest).

They take the place of a mixed model in the program: missing cells, repetitions nested in participants, and a factor
between people are where a package that is made for it should be used, and seen to be used.
"""

import json
from importlib.resources import files

from phasemark.model.plan import AnalysisPlan
from phasemark.results.csv_text import cell_text

PYTHON_SCRIPT, R_SCRIPT = "mixed_model.py", "mixed_model.R"


def mixed_scripts(plan: AnalysisPlan, group: str = "") -> dict[str, str]:
    """Both scripts by file name, filled in for a plan; group is the column of a factor between people ('' for none).

    Names stand in them as they stand in the tables, so that they are found there.
    """
    filled = {
        "@FACTOR@": json.dumps(cell_text(plan.factor), ensure_ascii=False),
        "@A@": json.dumps(cell_text(plan.a), ensure_ascii=False),
        "@B@": json.dumps(cell_text(plan.b), ensure_ascii=False),
        "@GROUP@": json.dumps(group, ensure_ascii=False),
        "@CONFIDENCE@": repr(plan.confidence),
    }
    return {name: _filled(name, filled) for name in (PYTHON_SCRIPT, R_SCRIPT)}


def _filled(name: str, filled: dict[str, str]) -> str:
    text = files("phasemark.results.comparison").joinpath(f"{name}.txt").read_text(encoding="utf-8")
    for mark, value in filled.items():
        text = text.replace(mark, value)
    return text
