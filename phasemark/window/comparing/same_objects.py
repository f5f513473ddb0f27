"""What something was worked out from, held to be compared by identity."""

Objects = tuple[object, ...]


def same_objects(one: Objects, other: Objects) -> bool:
    """Whether two tuples hold the same objects."""
    return len(one) == len(other) and all(a is b for a, b in zip(one, other, strict=True))
