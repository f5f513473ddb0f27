"""Recordings: one immutable HDF5 file each, with the values as given and their min/max pyramids."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np

from phasemark.model.clock import rate_text
from phasemark.model.codec import from_plain, to_plain
from phasemark.model.errors import BadData, Unavailable
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Samples, Source
from phasemark.model.study import RecordingRef
from phasemark.signal.pyramid import Pyramid, build, from_levels
from phasemark.store import disk, hdf5
from phasemark.store.migration import SCHEMA, refuse_newer
from phasemark.store.places import RECORDINGS, aside, inside, recording_path

_KINDS = ("emg", "movement")


@dataclass(frozen=True, slots=True, eq=False)
class StoredRecording:
    """Values of a recording as given, read-only float64 of shape (samples,), each with its pyramid."""

    emg_values: tuple[Samples, ...]
    movement_values: tuple[Samples, ...]
    emg_pyramids: tuple[Pyramid, ...]
    movement_pyramids: tuple[Pyramid, ...]


def new_recording_id(folder: Path, in_use: Iterable[str] = ()) -> str:
    """An id that no file in the study's folder has: R and a number ('R0007').

    in_use are ids that must not be given again although their files may be missing.
    """
    names = [path.name.split(".")[0] for path in (folder / RECORDINGS).glob("*")]
    numbers = [int(name[1:]) for name in (*names, *in_use) if name[:1] in ("R", "r") and name[1:].isdecimal()]
    return f"R{max(numbers, default=0) + 1:04d}"


def write_recording(folder: Path, recording: Recording, recording_id: str) -> RecordingRef:
    """Write a recording into a study's folder, once and for all.

    Raises:
        BadCall: the id is no safe name of a file.
        Unavailable: there is a recording of that id, or the disk says no.
    """
    relative = recording_path(recording_id)
    path = inside(folder, relative)
    disk.make_folder(path.parent)
    if disk.size_of(path) is not None:
        raise Unavailable(f"{path} exists already; a recording is never written over.")

    def check(unfinished: Path) -> None:
        stored = _read(unfinished)
        pairs = zip(
            (*stored.emg_values, *stored.movement_values),
            (*recording.emg_values, *recording.movement_values),
            strict=True,
        )
        if not all(np.array_equal(one, other, equal_nan=True) for one, other in pairs):
            raise Unavailable(f"{path} is not what was written when read again; nothing was kept.")

    disk.replace_file(path, lambda file: _fill(file, recording, recording_id), check)
    return RecordingRef(
        recording_id,
        relative,
        disk.size_of(path) or 0,
        disk.sha256_of(path),
        tuple(len(values) for values in recording.emg_values),
        tuple(len(values) for values in recording.movement_values),
        recording.source,
        recording.notes,
    )


def _fill(sink: BinaryIO, recording: Recording, recording_id: str) -> None:
    with hdf5.writing(sink) as file:
        file.attrs["schema"] = SCHEMA
        hdf5.put_json(
            file,
            "description",
            {
                "id": recording_id,
                "emg": to_plain(recording.emg),
                "movement": to_plain(recording.movement),
                "source": to_plain(recording.source),
                "notes": list(recording.notes),
            },
        )
        emg, movement = (file.create_group(kind) for kind in _KINDS)
        for index, (channel, values) in enumerate(zip(recording.emg, recording.emg_values, strict=True)):
            _put_channel(emg.create_group(str(index)), channel, values)
        for index, (trace, values) in enumerate(zip(recording.movement, recording.movement_values, strict=True)):
            _put_channel(movement.create_group(str(index)), trace, values)


def _put_channel(group: Any, channel: EmgChannel | MovementTrace, values: Samples) -> None:
    group.attrs["name"] = channel.label if isinstance(channel, EmgChannel) else channel.kind
    group.attrs["unit"] = channel.unit
    group.attrs["rate_hz"] = rate_text(channel.rate)
    levels = build(values).levels
    group.create_dataset("values", data=values)
    group.create_dataset("level_lengths", data=np.array([len(low) for low, _ in levels], dtype=np.int64))
    for name, side in (("lowest", 0), ("highest", 1)):
        group.create_dataset(name, data=np.concatenate([level[side] for level in levels]))


def _channel(group: Any) -> tuple[Samples, Pyramid]:
    values = _read_only(group["values"])
    ends = np.cumsum(group["level_lengths"][()])[:-1]
    lowest, highest = (np.split(_read_only(group[name]), ends) for name in ("lowest", "highest"))
    try:
        return values, from_levels(values, tuple(zip(lowest, highest, strict=True)))
    except BadData:  # bins of another size, from another version; only the values have to stay
        return values, build(values)


def _read_only(dataset: Any) -> Samples:
    array = np.asarray(dataset[()], dtype=np.float64)
    array.flags.writeable = False
    return array


def _read(path: Path) -> StoredRecording:
    with hdf5.reading(path, str(path)) as file:
        refuse_newer(int(file.attrs["schema"]), str(path))
        emg, movement = (tuple(_channel(file[kind][str(index)]) for index in range(len(file[kind]))) for kind in _KINDS)
    return StoredRecording(
        tuple(values for values, _ in emg),
        tuple(values for values, _ in movement),
        tuple(pyramid for _, pyramid in emg),
        tuple(pyramid for _, pyramid in movement),
    )


def read_recording(folder: Path, ref: RecordingRef, *, whole: bool = True) -> StoredRecording:
    """Read a recording of a study.

    Args:
        folder: the study's folder.
        ref: where the recording is, and what it must be.
        whole: also compare its SHA-256 (about a second a gigabyte); its size is compared always.

    Raises:
        BadData: the path leaves the folder, or the file has changed or is damaged.
        Unavailable: it is missing or cannot be read.
    """
    problem = recording_problem(folder, ref, whole=whole)
    if problem is not None:
        raise problem
    path = inside(folder, ref.path)
    stored = _read(path)
    lengths = tuple(tuple(len(v) for v in values) for values in (stored.emg_values, stored.movement_values))
    if lengths != (ref.emg_samples, ref.movement_samples):
        raise BadData(f"{path} is damaged (its channels have other lengths than the study states).")
    return stored


def recording_problem(folder: Path, ref: RecordingRef, *, whole: bool = True) -> BadData | Unavailable | None:
    """What is wrong with a recording's file, as the error to raise; None where it is present and unchanged."""
    try:
        path = inside(folder, ref.path)
        size = disk.size_of(path)
        if size is None:
            return Unavailable(f"{path} is missing; put it back, or locate it with a copy of the same recording.")
        if size != ref.size:
            return BadData(f"{path} has changed: it has {size} bytes, not {ref.size}; put the original back.")
        if whole and disk.sha256_of(path) != ref.sha256:
            return BadData(f"{path} has changed: its content is not what was imported; put the original back.")
    except (BadData, Unavailable) as problem:
        return problem
    return None


def as_imported(path: Path) -> Recording:
    """A recording file as the recording it was made from, with its channels described as they were imported."""
    stored = _read(path)
    with hdf5.reading(path, str(path)) as file:
        plain = hdf5.get_json(file, "description")
        return Recording(
            from_plain(plain["emg"], tuple[EmgChannel, ...]),
            stored.emg_values,
            from_plain(plain["movement"], tuple[MovementTrace, ...]),
            stored.movement_values,
            from_plain(plain["source"], Source),
            tuple(plain["notes"]),
        )


def relocate(folder: Path, ref: RecordingRef, file: Path) -> None:
    """Put a recording that is missing or has changed back into place, from a file with the same content.

    A changed file in its place is kept beside it under another name.

    Raises:
        BadData: the file is not the recording that was imported, or the path leaves the folder.
        Unavailable: the disk says no.
    """
    path = inside(folder, ref.path)
    if disk.sha256_of(file) != ref.sha256:
        raise BadData(f"{file} is not the recording {ref.id} of this study (its content differs).")
    disk.make_folder(path.parent)
    if disk.size_of(path) is not None:
        if disk.sha256_of(path) == ref.sha256:
            return
        disk.rename(path, aside(path, "changed"))
    disk.copy_file(file, path)
