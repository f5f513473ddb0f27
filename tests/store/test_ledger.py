"""The ledger: what was acknowledged is there, half a gesture is not, damage is named by its line."""

import errno
from pathlib import Path

import pytest
from faults import FaultySystem
from making_studies import gesture, moved, rich_study

from phasemark.model.changes import apply
from phasemark.model.errors import Unavailable
from phasemark.model.study import Exercise, Study
from phasemark.model.study_edits import with_exercise, with_rater
from phasemark.store import disk, ledger_lines
from phasemark.store.ledger import START, Ledger, cut_torn, read_ledger
from phasemark.store.ledger_lines import Action, Gesture, LedgerPosition
from phasemark.store.migration import SCHEMA, NewerSchema
from phasemark.store.replay import founding, from_nothing, replayed

LEDGER = "ledger.jsonl"


def write_ledger(folder: Path, *gestures: Gesture) -> list[LedgerPosition]:
    """A ledger of these gestures and the position after each."""
    ledger = Ledger(folder, START)
    positions = [ledger.append(one) for one in gestures]
    ledger.close()
    return positions


def three_gestures() -> tuple[Gesture, Gesture, Gesture]:
    study, later = rich_study(), moved(rich_study(), 560)
    return (
        founding(study),
        gesture("moved raising end of rep 1", study, later),
        gesture("moved both", later, moved(moved(later, 590), 580, rater="R2")),
    )


def test_gestures_come_back_as_they_were_appended(tmp_path: Path) -> None:
    gestures = (*three_gestures(), Gesture("measured", action=Action.EVENT), Gesture("x", action=Action.UNDO, of="id"))
    positions = write_ledger(tmp_path, *gestures)
    tail = read_ledger(tmp_path)
    assert [entry.gesture for entry in tail.entries] == list(gestures)
    assert [entry.position for entry in tail.entries] == positions
    assert (tail.end, tail.torn, tail.damage) == (positions[-1], b"", "")


def test_reading_from_any_position_gives_only_what_follows(tmp_path: Path) -> None:
    gestures = three_gestures()
    positions = [START, *write_ledger(tmp_path, *gestures)]
    for index, position in enumerate(positions):
        assert [entry.gesture for entry in read_ledger(tmp_path, position).entries] == list(gestures[index:])


def test_the_sequence_number_of_a_line_is_its_number_in_the_file(tmp_path: Path) -> None:
    position = write_ledger(tmp_path, *three_gestures())[-1]
    lines = (tmp_path / LEDGER).read_bytes().splitlines(keepends=True)
    assert position.sequence == len(lines)
    for number, line in enumerate(lines, start=1):
        plain = ledger_lines.verified(line)
        assert plain is not None
        assert plain["sequence"] == number


def test_a_line_says_who_what_when_where_and_both_values(tmp_path: Path) -> None:
    write_ledger(tmp_path, *three_gestures()[:2])
    last = ledger_lines.verified((tmp_path / LEDGER).read_bytes().splitlines(keepends=True)[-1])
    assert last is not None
    assert {"sequence", "schema", "gesture", "at", "rater", "action", "what", "key", "before", "after", "end"} == set(
        last
    )
    assert last["key"] == {"part": "rep", "trial": "T001", "rater": "R1", "rep": 1}
    assert last["what"] == "moved raising end of rep 1"
    assert last["after"]["phases"][1]["end"] == {"sample": 560, "origin": "hand"}
    assert last["at"].endswith("Z")


def test_the_ledger_alone_leads_to_the_whole_study(tmp_path: Path) -> None:
    gestures = three_gestures()
    positions = write_ledger(tmp_path, *gestures)
    reached = from_nothing(read_ledger(tmp_path).entries)
    assert reached.study == moved(moved(moved(rich_study(), 560), 590), 580, rater="R2")
    assert (reached.position, reached.damage) == (positions[-1], "")


def test_a_gesture_has_one_sync_however_many_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    system = FaultySystem()
    monkeypatch.setattr(disk, "system", system)
    ledger = Ledger(tmp_path, START)
    system.calls.clear()
    assert ledger.append(founding(rich_study())).sequence > 10
    assert system.calls.count("fsync") == 1
    ledger.close()


def test_a_ledger_cut_at_any_byte_of_its_last_gesture_loses_only_that(tmp_path: Path) -> None:
    first, second, _ = three_gestures()
    before = moved(rich_study(), 560)
    gestures = (first, second, gesture("two", before, with_rater(with_exercise(before, Exercise("row")), "R3")))
    positions = write_ledger(tmp_path, *gestures)
    path = tmp_path / LEDGER
    whole = path.read_bytes()
    assert positions[2].sequence - positions[1].sequence == 2
    for size in range(positions[1].offset, positions[2].offset):
        path.write_bytes(whole[:size])
        tail = read_ledger(tmp_path, positions[0])
        assert [entry.gesture for entry in tail.entries] == [gestures[1]]
        assert (tail.end, tail.damage) == (positions[1], "")
        assert tail.torn == whole[positions[1].offset : size]


@pytest.mark.parametrize("rubbish", [b"\0" * 700, b"{}\n", b"\n\n", b'{"sequence":1}\n{"se', b"\xff\xfe\n" * 3])
def test_rubbish_at_the_end_is_torn(tmp_path: Path, rubbish: bytes) -> None:
    positions = write_ledger(tmp_path, *three_gestures())
    path = tmp_path / LEDGER
    path.write_bytes(path.read_bytes() + rubbish)
    tail = read_ledger(tmp_path)
    assert (tail.end, tail.torn, tail.damage) == (positions[-1], rubbish, "")


def test_torn_bytes_are_kept_aside_and_appending_goes_on(tmp_path: Path) -> None:
    gestures = three_gestures()
    positions = write_ledger(tmp_path, *gestures[:2])
    path = tmp_path / LEDGER
    path.write_bytes(path.read_bytes() + b'{"sequence":99,"ge')
    tail = read_ledger(tmp_path)
    kept = cut_torn(tmp_path, tail)
    assert kept.name.startswith("ledger.torn-")
    assert kept.read_bytes() == b'{"sequence":99,"ge'
    ledger = Ledger(tmp_path, tail.end)
    ledger.append(gestures[2])
    ledger.close()
    assert [entry.gesture for entry in read_ledger(tmp_path, positions[0]).entries] == list(gestures[1:])


def test_torn_bytes_are_not_lost_when_cutting_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_ledger(tmp_path, *three_gestures())
    path = tmp_path / LEDGER
    path.write_bytes(path.read_bytes() + b"torn")
    before = path.read_bytes()
    for call in ("write", "replace", "truncate"):
        monkeypatch.setattr(disk, "system", FaultySystem([call], errno.ENOSPC))
        with pytest.raises(Unavailable, match="no space"):
            cut_torn(tmp_path, read_ledger(tmp_path))
        assert path.read_bytes() == before


def test_a_byte_changed_in_a_middle_line_is_damage_with_its_number(tmp_path: Path) -> None:
    gestures = three_gestures()
    positions = write_ledger(tmp_path, *gestures)
    path = tmp_path / LEDGER
    whole = path.read_bytes()
    number = positions[0].sequence + 1  # the second gesture has one line
    for place in range(positions[0].offset, positions[1].offset, 3):
        damaged = bytearray(whole)
        damaged[place] ^= 0x01
        path.write_bytes(damaged)
        tail = read_ledger(tmp_path, positions[0])
        assert tail.entries == ()
        assert tail.end == positions[0]
        assert f"line {number}, is damaged" in tail.damage
        assert str(path) in tail.damage


def test_removed_doubled_and_swapped_lines_are_damage(tmp_path: Path) -> None:
    positions = write_ledger(tmp_path, *three_gestures())
    path = tmp_path / LEDGER
    whole = path.read_bytes().splitlines(keepends=True)
    number = positions[0].sequence
    removed = [*whole[:number], *whole[number + 1 :]]
    doubled = [*whole[: number + 1], *whole[number:]]
    swapped = [*whole[: number + 1], whole[number + 2], whole[number + 1]]
    for lines in (removed, doubled, swapped):
        path.write_bytes(b"".join(lines))
        tail = read_ledger(tmp_path)
        assert "has the number" in tail.damage
        assert f"line {tail.end.sequence + 1}," in tail.damage or lines is swapped


def test_a_ledger_that_is_not_the_one_of_the_project_file_is_damage(tmp_path: Path) -> None:
    positions = write_ledger(tmp_path, *three_gestures())
    path = tmp_path / LEDGER
    whole = path.read_bytes()
    for other in (b"", whole[: positions[1].offset - 3], whole.replace(b'"check":"', b'"check":"0')):
        path.write_bytes(other)
        tail = read_ledger(tmp_path, positions[1])
        assert "does not go on after line" in tail.damage
        assert tail.end == positions[1]


def test_a_failed_sync_ends_appending_for_good(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    gestures = three_gestures()
    ledger = Ledger(tmp_path, START)
    ledger.append(gestures[0])
    monkeypatch.setattr(disk, "system", FaultySystem(["fsync"]))
    with pytest.raises(Unavailable, match="disk reports a fault"):
        ledger.append(gestures[1])
    monkeypatch.undo()
    assert "disk reports a fault" in ledger.failure
    with pytest.raises(Unavailable, match="disk reports a fault"):
        ledger.append(gestures[2])
    ledger.close()


def test_a_full_disk_at_many_bytes_of_an_append_leaves_what_was_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gestures = three_gestures()
    for space in range(0, 900, 37):
        (tmp_path / LEDGER).unlink(missing_ok=True)
        ledger = Ledger(tmp_path, START)
        end = ledger.append(gestures[0])
        monkeypatch.setattr(disk, "system", FaultySystem(space=space))
        with pytest.raises(Unavailable, match="no space"):
            ledger.append(gestures[1])
        monkeypatch.undo()
        ledger.close()
        tail = read_ledger(tmp_path)
        assert ([entry.gesture for entry in tail.entries], tail.end) == ([gestures[0]], end)
        assert len(tail.torn) == space


def test_a_line_of_a_later_schema_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ledger_lines, "SCHEMA", SCHEMA + 1)
    write_ledger(tmp_path, founding(Study("x")))
    monkeypatch.undo()
    with pytest.raises(NewerSchema, match=r"ledger\.jsonl, line 2, was written by a later version"):
        read_ledger(tmp_path)


def test_a_gesture_that_does_not_fit_the_study_is_named_by_its_line(tmp_path: Path) -> None:
    first, second, third = three_gestures()
    positions = write_ledger(tmp_path, first, third, second)
    entries = read_ledger(tmp_path).entries
    reached = from_nothing(entries)
    assert reached.study == rich_study()
    assert reached.position == positions[0]
    assert f"line {positions[1].sequence} does not fit" in reached.damage
    assert replayed(rich_study(), positions[0], ()).position == positions[0]


def test_unreadable_content_under_a_right_checksum_is_damage(tmp_path: Path) -> None:
    body = b'{"sequence":1,"schema":1,"gesture":"g","end":1'
    (tmp_path / LEDGER).write_bytes(body + ledger_lines.line_end(ledger_lines.checksum(body)))
    assert "line 1, cannot be understood" in read_ledger(tmp_path).damage


def test_undo_written_as_a_gesture_of_its_own_takes_back(tmp_path: Path) -> None:
    study, later = rich_study(), moved(rich_study(), 560)
    edit = gesture("moved", study, later)
    back = Gesture("took back: moved", gesture("", later, study).changes, action=Action.UNDO, of=edit.id)
    write_ledger(tmp_path, founding(study), edit, back)
    entries = read_ledger(tmp_path).entries
    assert apply(later, entries[2].gesture.changes) == study
    assert from_nothing(entries).study == study
