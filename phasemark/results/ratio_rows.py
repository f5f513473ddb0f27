"""Ratios of two muscles in each segment."""

from collections.abc import Iterable, Iterator, Mapping
from math import isfinite

from phasemark.model.study import Study
from phasemark.results.value_cells import Row

_SHARED = (
    *("participant", "session", "exercise", "set", "load", "kind", "trial", "rep", "rep_id", "counted"),
    *("phase", "against_load", "third", "side"),
)
RATIO_COLUMNS = (*_SHARED, "muscle", "over", "measure", "ratio")


def ratio_rows(study: Study, rows: Iterable[Row], factors: Mapping[str, str]) -> Iterator[Row]:
    """One row per rep, segment and ratio of the study's settings, from rows of segments.

    Both muscles of one side, each in percent of its reference where both have one, else in mV: a ratio of mV
    depends on electrodes and skin and says little beyond one placement.
    """
    held: dict[tuple[object, ...], dict[object, Row]] = {}
    shared = (*_SHARED, *factors.values())
    for row in rows:
        held.setdefault(tuple(row.get(name) for name in shared), {})[row["muscle"]] = row
    for muscles in held.values():
        for ratio in study.settings.ratios:
            top, bottom = muscles.get(ratio.muscle), muscles.get(ratio.over)
            if top is None or bottom is None:
                continue
            measure = "rms_percent" if _there(top["rms_percent"]) and _there(bottom["rms_percent"]) else "rms_mV"
            yield {
                **{name: top.get(name) for name in shared},
                "muscle": ratio.muscle,
                "over": ratio.over,
                "measure": measure,
                "ratio": _over(top[measure], bottom[measure]),
            }


def _there(value: object) -> bool:
    return isinstance(value, float) and isfinite(value)


def _over(top: object, bottom: object) -> float | None:
    if not (isinstance(top, float) and isinstance(bottom, float) and bottom > 0 and isfinite(top)):
        return None
    return top / bottom
