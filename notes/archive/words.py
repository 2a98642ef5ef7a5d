"""Words as search knows them: dictionary forms in small letters, without accents and punctuation."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from lexicon.tokens import Tokens, tokenize

_WORD = re.compile(r"[^\W_]+")
# Words that say nothing of what is looked for, unless there are no others.
SMALL = frozenset(
    "a an and are as at be been by do for from get go have he her herself him himself his i in is it its itself just"
    " me my myself not of off on or our out she so some that the their them then there these they this those to too up"
    " us was we were what when where which who why will with would you your yourself 's".split()
)
_OWNERS = frozenset("a an the my your his her its our their he she they him them".split())


@dataclass(frozen=True, slots=True)
class Spoken:
    """One word of a text: its dictionary form, how it was written, first character and one past the last."""

    word: str
    written: str
    start: int
    end: int

    @property
    def small(self) -> bool:
        """Whether the word says nothing of what is looked for."""
        return self.word in SMALL


@lru_cache(maxsize=50_000)
def plain(text: str) -> str:
    """Small letters without accents."""
    return "".join(c for c in unicodedata.normalize("NFKD", text.lower()) if not unicodedata.combining(c))


def spoken_words(text: str) -> list[Spoken]:
    """The words of a text in order; a hyphen parts words, and "don't" is "do", "not"."""
    return words_of(tokenize(text), text)


def words_of(tokens: Tokens, text: str) -> list[Spoken]:
    """The words among the tokens of a text."""
    return [
        Spoken(word, text[start:end], start, end)
        for lemma, start, end in zip(tokens.lemmas, tokens.starts, tokens.ends, strict=True)
        for word in _WORD.findall(plain(lemma))
    ]


def without_owners(text: str) -> str:
    """A text with blanks for its articles and pronouns of persons; all else stays in its place.

    >>> without_owners("drops his hands")
    'drops     hands'
    """
    for spoken in spoken_words(text):
        if spoken.word in _OWNERS:
            text = text[: spoken.start] + " " * (spoken.end - spoken.start) + text[spoken.end :]
    return text


def indexed_words(quote: str) -> str:
    """What is indexed of a quote: its words, parted by spaces. The database's own function of this name."""
    return " ".join(spoken.word for spoken in spoken_words(quote))


def tag(sort: str, value: object) -> str:
    """The token that stands for a fact in the index, such as is_head_on_centreline; no word holds "_".

    >>> tag("is", "head-on-centreline"), tag("athlete", 7)
    ('is_head_on_centreline', 'athlete_7')
    """
    return f"{sort}_{value}".replace("-", "_")


def quoted(words: Sequence[str]) -> str:
    """Words as one FTS5 phrase; nothing in them is taken for an operator."""
    return '"' + " ".join(words) + '"'
