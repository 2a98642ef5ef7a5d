from notes.speech.terms import TradeWords


def test_plurals_sound_as_they_are_said() -> None:
    sounds = TradeWords(("teep", "parry", "clinch", "low kick")).sounds

    assert {spelt: sounds[spelt][-1] for spelt in sounds if spelt.endswith("s")} == {"teeps": "S", "parries": "Z"}


def test_hearings_with_other_words_are_told_apart() -> None:
    assert TradeWords(("jab",)).key != TradeWords(("jab",), ("Mara",)).key
