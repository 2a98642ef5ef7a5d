"""What grammar makes of a good or a bad action: one table, no text.

"You're dropping it" is bad and said to be so: a fault. "You're not dropping it" is bad and denied: nothing, or a
strength where a change or praise is stated. "You didn't extend" is good and denied: a fault. "Don't drop it" is bad,
denied and ordered: a fault of the moment, or advice where it is said as a rule (reading guide, rules 8 and 9).
"""

from typing import Literal

from notes.reading.grammar import Mood

Action = Literal["bad", "good"]
Meaning = Literal["fault", "strength", "fix", "lack", "nothing"]

_TABLE: dict[tuple[Action, bool, Mood], Meaning] = {
    ("bad", False, "did"): "fault",
    ("bad", False, "should"): "nothing",
    ("bad", False, "unmet"): "nothing",
    ("bad", False, "order"): "fault",
    ("bad", False, "suppose"): "nothing",
    ("bad", False, "question"): "fault",
    ("bad", True, "did"): "nothing",
    ("bad", True, "should"): "fault",
    ("bad", True, "unmet"): "fault",
    ("bad", True, "order"): "fault",
    ("bad", True, "suppose"): "nothing",
    ("bad", True, "question"): "nothing",
    ("good", False, "did"): "nothing",
    ("good", False, "should"): "fix",
    ("good", False, "unmet"): "fix",
    ("good", False, "order"): "fix",
    ("good", False, "suppose"): "fix",
    ("good", False, "question"): "nothing",
    ("good", True, "did"): "lack",
    ("good", True, "should"): "nothing",
    ("good", True, "unmet"): "lack",
    ("good", True, "order"): "nothing",
    ("good", True, "suppose"): "nothing",
    ("good", True, "question"): "lack",
}


def meaning(action: Action, *, negated: bool, mood: Mood, approved: bool) -> Meaning:
    """What an action amounts to. `approved`: the coach praises it or states a change for the better.

    "fault" and "strength" are what they say; "fix" is an action wanted; "lack" is a wanted action that did not
    happen, which is a fault with that action as its fix.
    """
    if approved and mood == "did" and (action == "good") != negated:
        return "strength"
    return _TABLE[action, negated, mood]
