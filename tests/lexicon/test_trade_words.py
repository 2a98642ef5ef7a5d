"""The trade's words are known to the vocabulary.

The words and their Zipf frequencies in running English were taken with wordfreq 3.1.1 (`zipf_frequency(w, "en")`; 0:
unknown to it). Half of them are in neither CMUdict nor WordNet 3.0, so no general word list could stand in for ours.
"""

import pytest

from lexicon import Lexicon
from lexicon.tokens import tokenize

WORDS = {
    "teep": 1.57, "lowkick": 0, "underhook": 1.31, "overhook": 0, "armbar": 2.24, "darce": 1.38, "crossface": 1.34,
    "backfist": 0, "uppercut": 2.63, "overhand": 2.39, "whizzer": 1.70, "kimura": 2.73, "jab": 3.35, "cross": 5.0,
    "hook": 4.37, "feint": 2.52, "parry": 3.44, "clinch": 3.29, "guillotine": 3.0, "sprawl": 2.99, "stance": 4.05,
    "haymaker": 1.99, "pummel": 2.33,
}  # fmt: skip


@pytest.mark.parametrize("word", WORDS)
def test_a_word_of_the_trade_means_something(vocabulary: Lexicon, word: str) -> None:
    tokens = tokenize(f"and then the {word}, there")

    assert vocabulary.find_entries(tokens, 0, len(tokens), "orthodox")


def test_every_sport_has_terms_for_the_recogniser(vocabulary: Lexicon) -> None:
    assert set(vocabulary.terms) == {"boxing", "kickboxing", "muay-thai", "mma", "grappling"}
    assert all(len(terms) >= 40 for terms in vocabulary.terms.values())
