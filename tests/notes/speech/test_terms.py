from notes.model import Word
from notes.speech.terms import TradeWords, likeliest


def words(text: str) -> list[Word]:
    return [Word(word, 0, 0, 0.9) for word in text.split()]


def test_terms_that_sound_like_what_was_written_are_told_first() -> None:
    terms, pays = likeliest(words("and a wizer there, good"), TradeWords(("jab", "kimura", "whizzer")))

    assert terms == ["whizzer", "jab", "kimura"]
    assert pays


def test_a_term_that_was_written_right_needs_no_second_hearing() -> None:
    terms, pays = likeliest(words("and a whizzer there"), TradeWords(("kimura", "whizzer")))

    assert terms == ["kimura", "whizzer"]
    assert not pays


def test_hearings_with_other_words_are_told_apart() -> None:
    assert TradeWords(("jab",)).key != TradeWords(("jab",), ("Mara",)).key
