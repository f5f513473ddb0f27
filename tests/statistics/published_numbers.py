"""Data sets printed in the literature, and helpers that lay arrays out for the reference libraries."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Numbers = NDArray[np.float64]


def _rows(text: str, columns: int) -> Numbers:
    return np.array(text.split(), dtype=np.float64).reshape(-1, columns)


# Shrout & Fleiss (1979) Psychol Bull 86:420-428, Table 2: 6 targets, 4 judges.
SHROUT_FLEISS = _rows("9 2 5 8  6 1 3 2  8 4 6 8  7 1 2 6  10 5 6 9  6 2 4 7", 4)

# Weir (2005) J Strength Cond Res 19:231-240, data set A: 8 people, 2 trials.
WEIR = _rows("146 140 148 152 170 152 90 99 157 145 156 153 176 167 205 218", 2)

# Bland & Altman (1986) Lancet i:307-310: peak flow, two readings by each of two meters.
PEAK_FLOW = _rows(
    """494 490 512 525  395 397 430 415  516 512 520 508  434 401 428 444  476 470 500 500  557 611 600 625
    413 415 364 460  442 431 380 390  650 638 658 642  433 429 445 432  417 420 432 420  656 633 626 605
    267 275 260 227  478 492 477 467  178 165 259 268  423 372 350 370  427 421 451 443""",
    4,
)
WRIGHT_1, WRIGHT_2, MINI_1, MINI_2 = PEAK_FLOW.T

# Student (1908) Biometrika 6:1-25: hours of sleep gained.
DRUG_1 = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
DRUG_2 = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])

# Lakens (2013) Front Psychol 4:863: ratings of two movies.
MOVIE_1 = np.array([9.0, 7, 8, 9, 8, 9, 9, 10, 9, 9])
MOVIE_2 = np.array([9.0, 6, 7, 8, 7, 9, 8, 8, 8, 7])

# Hollander & Wolfe (1973) Nonparametric Statistical Methods, pp 27-33: depression scores.
DEPRESSION_1 = np.array([1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30])
DEPRESSION_2 = np.array([0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29])

# Howell, Statistical Methods for Psychology, 8th ed., ch. 14: headache duration, 9 patients, 5 weeks.
HOWELL = _rows(
    """21 22 8 6 6  20 19 10 4 4  17 15 5 4 5  25 30 13 12 17  30 27 13 8 6  19 27 8 7 4  26 16 5 2 5
    17 18 8 1 5  26 24 14 8 9""",
    5,
)

# Maxwell, Delaney & Kelley (2018) Designing Experiments and Analyzing Data, 3rd ed., Table 11.5: 12 children, 4 ages.
MCCARTHY = _rows(
    """108 96 110 122  103 117 127 133  96 107 106 107  84 85 92 99  118 125 125 116  110 107 96 91
    129 128 123 128  90 84 101 113  84 104 100 88  96 100 103 105  105 114 105 112  113 117 132 130""",
    4,
)

# Maxwell & Delaney (2004), 2nd ed., Table 12.1: reaction time, 10 people x noise (2) x angle (3).
REACTION = _rows(
    """420 420 480 480 600 780  420 480 480 360 480 600  480 480 540 660 780 780  420 540 540 480 780 900
    540 660 540 480 660 720  360 420 360 360 480 540  480 480 600 540 720 840  480 600 660 540 720 900
    540 600 540 480 720 780  480 420 540 540 660 780""",
    6,
).reshape(10, 2, 3)

# statsmodels 0.15.0, stats/tests/results/anova-rm-test-data.csv, first 48 rows: 8 people x A (2) x B (3).
EIGHT = _rows(
    """7 7 8 16 16 24  3 11 14 7 10 29  6 9 10 11 13 10  6 11 11 9 10 22  5 10 12 10 10 25  8 10 10 11 14 28
    6 11 11 8 11 22  7 11 12 8 12 24""",
    6,
).reshape(8, 2, 3)

# Hills & Armitage (1979) Br J Clin Pharmacol 8:7-20: dry nights in 14, active drug and placebo, in either order
# (data from memory; the means of the four cells agree with those recalled from the paper).
ACTIVE_FIRST = _rows("8 5 14 10 8 0 9 7 11 6 3 5 6 0 0 0 13 12 10 2 7 5 13 13 8 10 7 7 9 0 10 6 2 2", 2)
PLACEBO_FIRST = _rows("12 11 6 8 13 9 8 8 8 9 4 8 8 14 2 4 8 13 9 7 7 10 7 6", 2)

# NIST StRD, SiRstv.dat: resistivity of silicon, 5 instruments x 5 measurements.
SILICON = _rows(
    """196.3052 196.1240 196.1890 196.2569 196.3403  196.3042 196.3825 196.1669 196.3257 196.0422
    196.1303 196.2005 196.2889 196.0343 196.1811  196.2795 196.1748 196.1494 196.1485 195.9885
    196.2119 196.1051 196.1850 196.0052 196.2090""",
    5,
)


def numacc(middle: float, tenths: float, alternations: int) -> Numbers:
    """NIST StRD NumAcc2 to 4: one middle value, then pairs a tenth below and above it."""
    return np.array([middle] + [middle - tenths, middle + tenths] * alternations)


def long_table(values: Numbers, names: Sequence[str]) -> pd.DataFrame:
    """An array (participants, levels...) as one row a value, for the reference libraries."""
    places = np.indices(values.shape).reshape(values.ndim, -1)
    return pd.DataFrame(dict(zip(("person", *names), places, strict=True)) | {"value": values.ravel()})
