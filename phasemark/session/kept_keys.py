"""Keys that were worked out before, as long as what they were made from is the very same."""

from collections.abc import Callable


class KeptKeys:
    """The last key of each name, with the frozen values that it was made from; of one thread only."""

    def __init__(self) -> None:
        self._held: dict[tuple[str, str], tuple[tuple[object, ...], str]] = {}

    def key(self, name: tuple[str, str], made_from: tuple[object, ...], make: Callable[[], str]) -> str:
        """The key of a name: the one held where it was made from these very objects, else made anew."""
        held = self._held.get(name)
        if held is not None and all(a is b for a, b in zip(held[0], made_from, strict=True)):
            return held[1]
        made = make()
        self._held[name] = (made_from, made)
        return made
