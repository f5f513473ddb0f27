"""The texts of robustness: one table of all findings under all variants, and one of the findings in words."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from phasemark import __version__
from phasemark.model.codec import to_plain
from phasemark.model.recording import Side
from phasemark.results.comparison.cells import Place
from phasemark.results.csv_text import Cell, csv_text
from phasemark.results.measure import RULES_VERSION
from phasemark.results.robustness.report import Finding, Robustness, Under
from phasemark.results.robustness.variants import Group
from phasemark.results.robustness.words import definition, moves_said, sentence, summary, verdict

Row = dict[str, Cell]
_PLACE = ("muscle", "side", "phase", "third")
COLUMNS = (
    *_PLACE,
    *("factor", "a", "b", "unit", "primary", "group", "variant", "n", "difference", "difference_unit"),
    *("confidence", "difference_low", "difference_high", "smallest_effect", "interval_lies", "same_direction"),
    *("stands_here", "stands_in_all", "draws", "draws_standing", "share_standing", "draws_same_direction"),
    *("difference_p2_5", "difference_p50", "difference_p97_5", "shift_ms", "seed"),
)
FINDING_COLUMNS = (
    *_PLACE,
    *("primary", "n", "difference", "difference_low", "difference_high", "difference_unit", "smallest_effect"),
    *("variants", "variants_standing", "draws", "draws_standing", "lowest_difference", "highest_difference"),
    *("stands", "keeps_direction", "verdict", "in_words"),
)


def robustness_texts(found: Robustness, libraries: Mapping[str, str] | None = None) -> dict[str, str]:
    """All files: name to text. libraries are the versions of what computed it."""
    about: dict[str, Any] = {
        "program": {"name": "phasemark", "version": __version__, "rules_version": RULES_VERSION, **(libraries or {})},
        "plan": to_plain(found.plan),
        "unit": found.unit,
        "smallest_effect_applied": found.smallest or None,
        "shift_ms": 1000 * found.shift_s,
        "seed": found.seed,
        "stands": definition(found),
        "draws": moves_said(found),
        "summary": list(summary(found)),
        "not_varied": list(found.said),
    }
    return {
        "robustness.csv": csv_text(COLUMNS, robustness_rows(found)),
        "robustness_findings.csv": csv_text(FINDING_COLUMNS, finding_rows(found)),
        "robustness.json": json.dumps(about, ensure_ascii=False, indent=2, sort_keys=True) + "\n",
    }


def _place(place: Place) -> Row:
    side = "" if place.side is Side.NONE else str(place.side)
    return {"muscle": place.muscle, "side": side, "phase": str(place.phase), "third": place.third}


def robustness_rows(found: Robustness) -> Iterator[Row]:
    """robustness.csv: one row a comparison and variant, the planned one first, then one for all of its draws."""
    plan = found.plan
    for finding in found.findings:
        about: Row = {
            **_place(finding.place),
            "factor": plan.factor, "a": plan.a, "b": plan.b, "unit": found.unit, "primary": finding.primary,
            "difference_unit": found.difference_unit, "confidence": plan.confidence,
            "smallest_effect": found.smallest or None, "stands_in_all": finding.stands,
        }  # fmt: skip
        for under in finding.under:
            yield about | _under_row(found, under)
        yield from _draw_rows(found, finding, about)


def _under_row(found: Robustness, under: Under) -> Row:
    moved = {"shift_ms": 1000 * found.shift_s} if under.group is Group.BOUNDARIES else {}
    return {
        "group": str(under.group),
        "variant": under.variant,
        "n": under.n,
        "difference": under.mean,
        "difference_low": under.low,
        "difference_high": under.high,
        "interval_lies": str(under.reach),
        "same_direction": under.same_direction,
        "stands_here": under.agrees,
        **moved,
    }


def _draw_rows(found: Robustness, finding: Finding, about: Row) -> Iterator[Row]:
    drawn = finding.drawn
    if drawn is not None:
        yield about | {
            "group": str(Group.BOUNDARIES),
            "variant": "each boundary by its own amount",
            "stands_here": drawn.agreeing == drawn.count,
            "draws": drawn.count,
            "draws_standing": drawn.agreeing,
            "share_standing": drawn.share,
            "draws_same_direction": drawn.same_direction,
            "difference_p2_5": drawn.low,
            "difference_p50": drawn.median,
            "difference_p97_5": drawn.high,
            "shift_ms": 1000 * found.shift_s,
            "seed": found.seed,
        }


def finding_rows(found: Robustness) -> Iterator[Row]:
    """robustness_findings.csv: one row a comparison, with what comes of all its variants."""
    for finding in found.findings:
        planned, drawn = finding.planned, finding.drawn
        means = [one.mean for one in finding.under if one.mean == one.mean]
        yield _place(finding.place) | {
            "primary": finding.primary,
            "n": planned.n,
            "difference": planned.mean,
            "difference_low": planned.low,
            "difference_high": planned.high,
            "difference_unit": found.difference_unit,
            "smallest_effect": found.smallest or None,
            "variants": len(finding.under) - 1,
            "variants_standing": sum(one.agrees for one in finding.under[1:]),
            "draws": None if drawn is None else drawn.count,
            "draws_standing": None if drawn is None else drawn.agreeing,
            "lowest_difference": min(means, default=None),
            "highest_difference": max(means, default=None),
            "stands": finding.stands,
            "keeps_direction": finding.keeps_direction,
            "verdict": verdict(finding),
            "in_words": sentence(found, finding),
        }
