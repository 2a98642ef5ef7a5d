"""Faults that no entry knows, grouped by likeness of their words, and the command that makes an entry of a group."""

import re
import shlex
from collections.abc import Sequence

from rapidfuzz import fuzz

from lexicon.tokens import tokenize

# From this likeness of 100 on, two wordings are taken for the same fault: nearly the same words, in another order or
# form. In the corpus's sayings, pairs of one fault are so alike twenty times as often as pairs of two faults; but only
# one pair in 4,000 is, so what is said in wholly other words stays apart.
ALIKE = 70
_SMALL = frozenset(
    "a an the and or but so then just really that this there it is are was were be been you your he his she her they"
    " their i we of to in on at with for when after not do does did again now".split()
)
MOST_WORDINGS = 5


def groups_alike(texts: Sequence[str]) -> list[list[int]]:
    """The places of texts that are alike, each text with the first group that holds one like it.

    Likeness is rapidfuzz's token sort ratio over dictionary forms without small words.
    """
    words = [_telling_words(text) for text in texts]
    groups: list[list[int]] = []
    for place, told in enumerate(words):
        near = (g for g in groups if any(fuzz.token_sort_ratio(told, words[other]) >= ALIKE for other in g))
        group = next(near, None)
        if group is None:
            groups.append([place])
        else:
            group.append(place)
    return groups


def add_command(wordings: Sequence[str]) -> str:
    """The shell command that makes a group of wordings a fault of the owner's lexicon."""
    said = list(dict.fromkeys(" ".join(wording.split()).strip(" .,;:!?") for wording in wordings))[:MOST_WORDINGS]
    entry = "-".join(_telling_words(said[0]).split()[:4]) or "own-fault"
    words = ["tapeside", "lexicon", "add", entry, "--sort", "fault", "--means", said[0]]
    for wording in said:
        words += ["--say", wording]
    return shlex.join(words)


def _telling_words(text: str) -> str:
    lemmas = [lemma for lemma in tokenize(text).lemmas if re.fullmatch(r"[a-z0-9]+", lemma)]
    return " ".join([lemma for lemma in lemmas if lemma not in _SMALL] or lemmas)
