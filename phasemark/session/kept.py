"""What was measured of a study and is kept in its project file, and its form there."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from phasemark.results import facts_table, table
from phasemark.results.facts import TrialFacts
from phasemark.results.measure import TrialResults
from phasemark.store.tables import ResultTable, Table

Results = Mapping[tuple[str, str], TrialResults]
Facts = Mapping[str, TrialFacts]


@dataclass(frozen=True, slots=True)
class Kept:
    """Results by trial and rater, facts by trial; stale ones among them."""

    results: Results = field(default_factory=dict)
    facts: Facts = field(default_factory=dict)


def result_table(kept: Kept) -> ResultTable:
    """What was measured, as the project file keeps it."""
    keys = tuple((f"{trial}/{rater}", found.key) for (trial, rater), found in kept.results.items())
    tables = table.to_tables(kept.results.values())
    further = {name: Table(columns) for name, columns in tables.items() if name != table.VALUES}
    further |= {name: Table(columns) for name, columns in facts_table.to_tables(kept.facts.values()).items()}
    return ResultTable(keys, tables[table.VALUES], further)


def kept_in(held: ResultTable | None) -> Kept:
    """What a project file keeps of what was measured.

    Raises:
        BadData: a column is missing.
    """
    if held is None:
        return Kept()
    keys = {}
    for name, key in held.keys:
        trial, _, rater = name.partition("/")
        keys[trial, rater] = key
    tables = {name: one.columns for name, one in held.further.items()}
    return Kept(table.from_tables(keys, {**tables, table.VALUES: held.columns}), facts_table.from_tables(tables))
