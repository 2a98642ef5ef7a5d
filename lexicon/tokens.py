"""Words as the lexicon sees them: spaCy tokens with a plain form and a lemma that do not depend on context.

A tagger reads unpunctuated speech differently from written text, and differently on another machine; a
dictionary of lemmas (simplemma) does not. So case, punctuation and processor never change what is found.
"""

from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from lexicon.errors import LexiconError

if TYPE_CHECKING:
    from spacy.language import Language

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


@cache
def _spellings() -> dict[str, tuple[str, ...]]:
    """Spoken forms written as they sound ("droppin", "yer", "dont"), with their plain words."""
    from lexicon.yaml_files import read_yaml

    text = (files("lexicon") / "data" / "spellings.yaml").read_text(encoding="utf-8")
    return {form: tuple(plain.split()) for form, plain in read_yaml(text, "spellings.yaml", LexiconError).data.items()}


# After these words a lone "'s" is "is"; elsewhere it may be a possessive and stays.
_IS_BEFORE = frozenset("that there here it he she what who where how this when why everything nothing one".split())


def tokenize(text: str) -> Tokens:
    """The words and marks of a text. Contractions are split and spelt out: "don't" gives "do", "not"."""
    found: list[tuple[str, int, int]] = []
    spellings = _spellings()
    for token in _english()(_lower(text.translate(_PLAIN))):
        if token.is_space:
            continue
        start, end = token.idx, token.idx + len(token)
        before = found[-1][0] if found else ""
        for form in spellings.get(token.text) or (_plain_form(token.norm_.lower(), before),):
            found.append((form, start, end))
    forms = tuple(form for form, _, _ in found)
    return Tokens(
        forms=forms,
        lemmas=tuple(lemma(form) for form in forms),
        starts=tuple(start for _, start, _ in found),
        ends=tuple(end for _, _, end in found),
    )


def _lower(text: str) -> str:
    """Lower case, letter for letter: the few capitals whose small form is longer stay."""
    return "".join(small if len(small := c.lower()) == 1 else c for c in text)


@lru_cache(maxsize=50_000)
def _plain_form(form: str, before: str) -> str:
    if form in ("'s", "s"):
        return "us" if before == "let" else "is" if before in _IS_BEFORE else "'s"
    if form in ("'d", "d"):
        return "would"
    if form.endswith("in") and len(form) > 4 and not is_known(form) and is_known(f"{form}g"):
        return f"{form}g"
    return form
