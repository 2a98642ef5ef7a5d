"""Words as the lexicon sees them: spaCy tokens with a plain form and a lemma that do not depend on context.

A tagger reads unpunctuated speech differently from written text, and differently on another machine; a
dictionary of lemmas (simplemma) does not. So case, punctuation and processor never change what is found.
"""

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spacy.language import Language
    from spacy.tokens import Doc

# Recognisers and keyboards write these many ways; lengths are equal, so character offsets stay true.
_PLAIN = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "“": '"', "”": '"', "–": "-", "—": "-", "‐": "-", "‑": "-"})

# Function words keep their form: as lemmas, "your" would answer to "you" and "better" to "good".
_KEPT = frozenset(
    "i me my mine myself you your yours yourself he him his himself she her hers herself it its itself we us our"
    " they them their theirs this that these those better best worse worst more most less least left right lower"
    " upper am is are was were be been being has had does did done could would should might".split()
)


@dataclass(frozen=True, slots=True)
class Tokens:
    """One text as parallel tuples: plain form, lemma, first character and one past the last."""

    forms: tuple[str, ...]
    lemmas: tuple[str, ...]
    starts: tuple[int, ...]
    ends: tuple[int, ...]

    def __len__(self) -> int:
        return len(self.forms)


@cache
def _english() -> "Language":
    import spacy

    return spacy.blank("en")


def spacy_doc(text: str) -> "Doc":
    """The text as a spaCy Doc, curly quotes and long dashes made plain; offsets are those of `text`."""
    return _english()(text.translate(_PLAIN))


@lru_cache(maxsize=50_000)
def lemma(form: str) -> str:
    """The dictionary form of one plain word.

    >>> lemma("dropping"), lemma("better")
    ('drop', 'better')
    """
    if form in _KEPT or not form.isalpha():
        return form
    import simplemma

    return str(simplemma.lemmatize(form, "en")).lower()


@lru_cache(maxsize=50_000)
def is_known(form: str) -> bool:
    """Whether a word stands in the dictionary of English forms."""
    import simplemma

    return form in _KEPT or bool(simplemma.is_known(form, "en"))


def tokenize(text: str) -> Tokens:
    """The words and marks of a text. Contractions are split and spelt out: "don't" gives "do", "not"."""
    doc = spacy_doc(text)
    words = [t for t in doc if not t.is_space]
    forms = tuple(t.norm_.lower().strip("'") or t.lower_ for t in words)
    return Tokens(
        forms=forms,
        lemmas=tuple(lemma(form) for form in forms),
        starts=tuple(t.idx for t in words),
        ends=tuple(t.idx + len(t) for t in words),
    )
