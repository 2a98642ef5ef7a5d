import pytest

from lexicon.errors import LexiconError
from lexicon.patterns import Compiler
from lexicon.tokens import tokenize

CLASSES = {"low": (("low",), ("by", "the", "belt")), "hand": (("hand",), ("glove",))}


def finds(pattern: str, text: str, stance: str | None = None) -> list[str]:
    tokens = tokenize(text)
    spans = Compiler(CLASSES).compile(pattern).find(tokens, 0, len(tokens), stance)  # type: ignore[arg-type]
    return [" ".join(tokens.forms[a:b]) for a, b in spans]


@pytest.mark.parametrize(
    ("pattern", "text"),
    [
        ("drop hand", "you keep dropping your right hand"),
        ("drop hand", "YOU DROPPED THE HANDS"),
        ("=dropped hand", "dropped the hand"),
        ("@hand @low", "that glove is by the belt"),
        ("@hand .. @low", "the hand you like so low"),
        ("drop & hand", "your hand, it dropped"),
        ("left/right hook", "a right hook"),
        ("right (little) hook", "the right hook"),
        ("^ hands $", "Hands!"),
        ("not bring .. back", "you didn't bring that one back"),
        ("over-commit", "you over-commit"),
        ("over-commit", "you over commit"),
    ],
)
def test_pattern_is_found(pattern: str, text: str) -> None:
    assert finds(pattern, text)


@pytest.mark.parametrize(
    ("pattern", "text"),
    [
        ("drop hand", "the hand dropped"),
        ("=dropped hand", "drop the hand"),
        ("drop hand", "you dropped him with a good clean hand"),
        ("@hand .. @low", "the hand one two three four five low"),
        ("^ hands $", "your hands are fine"),
        ("drop & hand", "drop one two three four five six seven eight nine hand"),
    ],
)
def test_pattern_is_not_found(pattern: str, text: str) -> None:
    assert not finds(pattern, text)


def test_left_and_right_follow_the_stance() -> None:
    """Common practice, no source: the left hand leads in orthodox stance and the right in southpaw."""
    assert finds("<lead> hook", "a left hook", "orthodox")
    assert finds("<rear> hook", "a left hook", "southpaw")
    assert not finds("<lead> hook", "a left hook", "southpaw")
    assert not finds("<lead> hook", "a left hook", None)
    assert finds("<lead> hook", "a lead hook", None)


@pytest.mark.parametrize(
    "pattern", ["..", "@unknown hand", "(drop)", "drop & ..", "drop {hand}", "step-in/flying elbow", "don't drop"]
)
def test_a_pattern_that_cannot_work_is_refused(pattern: str) -> None:
    with pytest.raises(LexiconError, match="pattern"):
        Compiler(CLASSES).compile(pattern)
