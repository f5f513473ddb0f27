"""HDF5 files as the store uses them: JSON texts and tables of columns. h5py's own locking is off throughout."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO
from urllib.parse import quote

import h5py
import numpy as np

from phasemark.model.errors import BadData, PhasemarkError
from phasemark.store import plain_json
from phasemark.store.tables import Column, Table

_TEXT = h5py.string_dtype("utf-8")


@contextmanager
def reading(source: Path | BinaryIO, what: str) -> Iterator[Any]:
    """An HDF5 file open for reading; whatever is wrong with it is one sentence that begins with `what`.

    Raises:
        BadData: the file is damaged or does not hold what is read from it inside.
    """
    try:
        with h5py.File(source, "r", locking=False) as file:
            yield file
    except PhasemarkError:
        raise
    except (OSError, KeyError, ValueError, TypeError, IndexError, RuntimeError) as problem:
        detail = str(problem).strip("'\"").splitlines()
        raise BadData(f"{what} is damaged ({detail[0] if detail else type(problem).__name__}).") from problem


@contextmanager
def writing(sink: BinaryIO, user_block: int = 0) -> Iterator[Any]:
    """A new HDF5 file in an open file, with room for other bytes before it (0, or 512 and up)."""
    # What is written can be read by HDF5 1.10 (2016) and later.
    with h5py.File(sink, "w", libver=("v110", "v110"), userblock_size=user_block) as file:
        yield file


def put_json(group: Any, name: str, plain: Any) -> None:
    """Write JSON values as one UTF-8 text."""
    group.create_dataset(name, data=plain_json.dump(plain).decode("utf-8"), dtype=_TEXT)


def get_json(group: Any, name: str) -> Any:
    """The JSON values of a text."""
    return plain_json.load(bytes(group[name][()]))


def put_table(parent: Any, name: str, table: Table) -> None:
    """Write a table as a group: `names` (JSON), `columns/<name>`, and for texts their `words/<name>` (JSON).

    A column of texts holds whole numbers: places in the list of its words. Characters that HDF5 keeps for
    itself are percent-encoded in the names of data sets.
    """
    group = parent.create_group(name)
    put_json(group, "names", list(table.columns))
    columns, words = group.create_group("columns"), group.create_group("words")
    for column, values in table.columns.items():
        if isinstance(values, np.ndarray):
            columns.create_dataset(_encoded(column), data=values)
        else:
            places = {text: place for place, text in enumerate(dict.fromkeys(values))}
            codes = np.fromiter(map(places.__getitem__, values), np.int32, len(values))
            columns.create_dataset(_encoded(column), data=codes)
            put_json(words, _encoded(column), list(places))


def get_table(group: Any) -> Table:
    """The table of a group."""
    names = get_json(group, "names")
    return Table({name: _column(group, _encoded(name)) for name in names})


def _column(group: Any, name: str) -> Column:
    values = group["columns"][name][()]
    if name not in group["words"]:
        return np.asarray(values)
    words = get_json(group["words"], name)
    return tuple(map(words.__getitem__, values.tolist()))


def _encoded(name: str) -> str:
    return quote(name, safe=" ", errors="surrogatepass").replace(".", "%2E") or "%"
