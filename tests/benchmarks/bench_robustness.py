"""How long a comparison takes under all variants of its analysis, by group, on one thread and without a disk.

    python tests/benchmarks/bench_robustness.py [people] [sets of each exercise] [reps] [draws]

By default 12 people with 2 sets of 8 reps of each of two exercises, 4 muscles and 1000 draws of moved boundaries.
"""

import resource
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "results"))

from made_lifts import MUSCLES, Lifts, Varying, made, plan, varied

from phasemark.results.robustness.frame import Draws
from phasemark.results.robustness.variants import Group


def main() -> None:
    """Print the seconds of each group of variants, and the most memory that was held."""
    people, sets, reps, draws = (int(text) for text in (*sys.argv[1:], *("12", "2", "8", "1000")[len(sys.argv) - 1 :]))
    lifts = Lifts(people=people, sets=sets, reps=reps, muscles=MUSCLES, quiet=True)
    study = made(lifts)
    varied(study, plan(lifts), Varying(frozenset({Group.FILTER}), Draws(0)))  # imports scipy
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    groups = (Group.BOUNDARIES, Group.WINDOW, Group.FILTER, Group.OUTCOME, Group.BASELINE)
    for chosen in (*(frozenset({group}) for group in groups), frozenset(Group)):
        begin = time.perf_counter()
        found = varied(study, plan(lifts), Varying(chosen, Draws(draws)))
        name = "all" if len(chosen) > 1 else str(next(iter(chosen)))
        print(f"{name:16}{time.perf_counter() - begin:6.1f} s, {len(found.findings)} findings")
    more = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - held) / 1024
    print(f"{more:.0f} MB more than before at the most")


if __name__ == "__main__":
    main()
