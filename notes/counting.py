"""Counts in words."""


def many(count: int, thing: str) -> str:
    """A count with its noun.

    >>> many(1, "session"), many(3, "session"), many(0, "entry")
    ('1 session', '3 sessions', '0 entries')
    """
    plural = f"{thing[:-1]}ies" if thing.endswith("ry") else f"{thing}s"
    return f"{count} {thing if count == 1 else plural}"
