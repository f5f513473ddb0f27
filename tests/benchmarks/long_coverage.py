"""How often the chain's numbers lie within 1.96 of their stated sampling errors of the truth, by disturbance.

    PYTHONPATH=tests/results python tests/benchmarks/long_coverage.py [seeds] [participants] [tasks each] [words]

Words choose the cases whose names have one of them. A seed of twelve participants with two tasks takes about 10 s.
Each disturbance lies on every muscle of every trial, with its remedy applied; 95 % is what is claimed.
"""

import sys
from collections import defaultdict
from collections.abc import Iterable

import numpy as np
from invented_chain import Held
from remedied import CASES, Case, held_of

MEASURES = ("rms_mV", "mean_amplitude_mV", "rms_percent", "mean_amplitude_percent")


def share(of: Iterable[Held]) -> float:
    """Percent of numbers whose truth lies within 1.96 errors."""
    return 100 * float(np.mean([one.inside for one in of]))


def lowest(of: list[Held], key: str) -> tuple[str, float]:
    """The group of numbers that is covered least, by an attribute, and how well it is."""
    groups: dict[str, list[Held]] = defaultdict(list)
    for one in of:
        name = " ".join(str(getattr(one, part)) for part in key.split())
        groups[name].append(one)
    shares = {name: share(group) for name, group in groups.items()}
    worst = min(shares, key=shares.__getitem__)
    return worst, shares[worst]


def told(case: Case, seeds: int, people: int, tasks: int) -> None:
    """Print the lines of one case."""
    found = [one for seed in range(1, seeds + 1) for n in range(1, people + 1) for one in held_of(case, seed, n, tasks)]
    for measure in MEASURES:
        own = [one for one in found if one.measure == measure]
        deviations = np.array([one.deviation for one in own])
        least = [lowest(own, key) for key in ("participant", "phase third", "muscle")]
        worst = "; ".join(f"{name} {value:.1f}" for name, value in least)
        print(
            f"{case.name:42s} {measure:23s} n {len(own):6d}  covered {share(own):5.1f} %  "
            f"mean {deviations.mean():+.3f} SD {deviations.std():.3f}  lowest: {worst}",
            flush=True,
        )


if __name__ == "__main__":
    words = [word for word in sys.argv[1:] if not word.isdigit()]
    given = [int(word) for word in sys.argv[1:] if word.isdigit()]
    sizes = given + [6, 12, 2][len(given) :]
    for case in CASES:
        if not words or any(word in case.name for word in words):
            told(case, *sizes)
