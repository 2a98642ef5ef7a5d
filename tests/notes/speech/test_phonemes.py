import pytest

from notes.speech.phonemes import is_ordinary, likeness, sound_of


@pytest.mark.parametrize(
    ("one", "other"),
    [  # exact homophones in CMUdict 0.7b, found by comparing its entries
        ("faint", "feint"),
        ("weight", "wait"),
        ("lead", "led"),
        ("check", "czech"),
        ("bell", "belle"),
    ],
)
def test_homophones_sound_alike(one: str, other: str) -> None:
    assert sound_of(one) == sound_of(other) or likeness(sound_of(one), sound_of(other)) >= 0.8


def test_spellings_of_an_unknown_word_follow_its_sound() -> None:
    assert not is_ordinary("teap")
    assert sound_of("teap") == sound_of("teep")
    assert sound_of("wizzer") == sound_of("whizzer")


def test_two_words_written_as_one_sound_like_both() -> None:
    assert sound_of("pushcake") == sound_of("push cake")


def test_near_sounds_are_more_alike_than_far_ones() -> None:
    """slip and sleep differ in one near vowel, slip and guard in everything."""
    near, far = (likeness(sound_of("slip"), sound_of(word)) for word in ("sleep", "guard"))

    assert far < 0.5 < near < 1


def test_likeness_is_whole_for_the_same_and_none_for_nothing() -> None:
    assert likeness(sound_of("teep"), sound_of("teep")) == 1
    assert likeness((), ()) == 0
