from tokenizers import Tokenizer

import lexicon
from notes.settings import cache_folder
from notes.speech.models import joined_base
from notes.speech.prompt import MAX_TOKENS, leaks, terms_as_prose


def count(text: str) -> int:
    return len(text.split())


def test_the_prose_names_people_and_terms_in_sentences() -> None:
    prose = terms_as_prose(["teep", "whizzer"], ["Mara", "Devon"], count)

    assert prose.startswith("Okay, look at this clip. Mara drops the hands, and Devon counters")
    assert prose.endswith("Watch the teep, and the whizzer.")


def test_the_prose_never_outgrows_the_model() -> None:
    prose = terms_as_prose([f"term{i}" for i in range(1_000)], ["Mara"] * 200, count)

    assert MAX_TOKENS - 30 < count(prose) <= MAX_TOKENS


def test_nobody_named_is_no_error() -> None:
    assert terms_as_prose([], [], count).startswith("Okay, look at this clip. She drops")


def test_prompt_text_in_the_output_is_noticed() -> None:
    prose = "Okay, look at this clip. Mara drops the hands, and Devon counters with the jab."

    assert leaks("so look at this clip. Mara drops the left", prose)
    assert not leaks("Mara drops the hands again", prose)


def test_no_sports_prose_is_longer_than_the_model_takes(vocabulary: lexicon.Lexicon) -> None:
    """Counted by Whisper's own tokens; it keeps 223 of a prompt."""
    tokens = Tokenizer.from_file(str(joined_base(cache_folder()) / "tokenizer.json"))

    def whispers(text: str) -> int:
        return len(tokens.encode(text).ids)

    for terms in vocabulary.terms.values():
        assert whispers(terms_as_prose(terms, ["Wilhelmina", "Torvald", "Mara", "Devon"], whispers)) <= 223
