"""What file names plainly say is proposed, and nothing else (the patterns are common practice, no source)."""

from pathlib import Path

import pytest

from phasemark.session.name_proposals import propose

EXERCISES = ("squat", "squat heels", "pull-down")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("P01_squat_set2.txt", {"participant": "P01", "exercise": "squat", "set": "2"}),
        ("p1 squat heels 60kg.txt", {"participant": "p1", "exercise": "squat heels", "load": "60 kg"}),
        ("sub-03_ses-02_task-pull-down.tsv", {"participant": "sub-03", "session": "02", "exercise": "pull-down"}),
        ("subject 12 day 2 MVC1.csv", {"participant": "subject 12", "session": "2", "kind": "mvic"}),
        ("VP07_quiet.txt", {"participant": "VP07", "kind": "quiet"}),
        ("P02 warm-up.txt", {"participant": "P02", "kind": "warm-up"}),
        ("P03_squat_72,5 kg.txt", {"participant": "P03", "exercise": "squat", "load": "72,5 kg"}),
    ],
)
def test_what_a_name_says(name: str, said: dict[str, str]) -> None:
    assert propose(Path("/somewhere") / name, (), EXERCISES) == said


@pytest.mark.parametrize(
    "name",
    ["1Nsen.txt", "S1.txt", "P01_P02.txt", "deadlift.txt", "recording 2024-05-01.txt", "top1.txt", "squats.txt"],
)
def test_what_is_not_plain_is_not_proposed(name: str) -> None:
    """Another system's codes, two codes in one name, exercises that the study has not, parts of words."""
    assert propose(Path(name), (), EXERCISES) == {}


def test_codes_that_the_study_has_are_known_whatever_they_look_like_and_keep_their_spelling() -> None:
    assert propose(Path("anna-k squat.txt"), ("Anna-K", "Ben"), EXERCISES)["participant"] == "Anna-K"
    assert propose(Path("p01.txt"), ("P01",), ())["participant"] == "P01"


def test_a_folder_that_is_nothing_but_a_code_names_the_participant() -> None:
    assert propose(Path("/data/P04/squat.txt"), (), EXERCISES) == {"participant": "P04", "exercise": "squat"}
    assert "participant" not in propose(Path("/data/P04 old/squat.txt"), (), EXERCISES)
