"""Keys are made once for the same objects, and anew for others, however equal."""

from phasemark.session.kept_keys import KeptKeys


def test_a_key_is_made_once_for_the_very_same_values_and_anew_for_others() -> None:
    made: list[int] = []

    def make() -> str:
        made.append(1)
        return f"key {len(made)}"

    keys, one, equal = KeptKeys(), [1, 2], [1, 2]
    assert keys.key(("T1", "R1"), (one,), make) == "key 1"
    assert keys.key(("T1", "R1"), (one,), make) == "key 1"
    assert keys.key(("T1", "R1"), (equal,), make) == "key 2"
    assert keys.key(("T2", "R1"), (equal,), make) == "key 3"
    assert len(made) == 3
