"""The small pattern language of the vocabulary.

drop hand        words in this order, any inflection; small words such as "your" may stand between
=dropped         this very form
right/rear hand  one of several words
@low             a word or phrase of the class `low` (data/words.yaml)
(back)           may be missing
..               up to three other words
...              up to seven other words
drop & hand      both in one sentence, at most eight words apart, in either order
^ hands $        at the start, at the end of a sentence
<lead> <rear>    "lead"/"front" or "rear"/"back", and "left" or "right" as the athlete's stance has it
"""

import re
from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass
from typing import Literal

from lexicon.errors import LexiconError
from lexicon.tokens import Tokens, tokenize

Stance = Literal["orthodox", "southpaw"]

# Words that may stand between two words of a pattern without being part of it.
GLUE = frozenset(
    "a an the this that these those your his her my their our its of - just really very so too quite still always"
    " even only actually literally kind sort bit little much all uh um er erm like you know then there here again"
    " right left lead rear back front both own pretty bloody fucking fuckin damn flipping proper properly totally"
    " completely absolutely slightly almost nearly basically constantly keep kept keeps keeping 's is are was were me"
    " am be been being 're get got gets getting go goes going".split()
)
_WINDOW = 8
_GAPS = {"..": 3, "...": 7}
_SIDES: dict[str, dict[Stance | None, frozenset[str]]] = {
    "<lead>": {
        None: frozenset({"lead", "front"}),
        "orthodox": frozenset({"lead", "front", "left"}),
        "southpaw": frozenset({"lead", "front", "right"}),
    },
    "<rear>": {
        None: frozenset({"rear", "back"}),
        "orthodox": frozenset({"rear", "back", "right"}),
        "southpaw": frozenset({"rear", "back", "left"}),
    },
    "<leadside>": {None: frozenset(), "orthodox": frozenset({"left"}), "southpaw": frozenset({"right"})},
    "<rearside>": {None: frozenset(), "orthodox": frozenset({"right"}), "southpaw": frozenset({"left"})},
}

_PLAIN_WORDS = re.compile(r"=?[a-z0-9']+(?:/=?[a-z0-9']+)*")
_HYPHEN_IN_LIST = re.compile(r"\S+-\S*/|/\S*-")

Phrase = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Element:
    """One place of a pattern: single words (by form or lemma), exact forms, phrases, or a side, gap or edge.

    One of `triggers` must be in the text for it to match; they are empty where any text will do.
    """

    words: frozenset[str] = frozenset()
    exact: frozenset[str] = frozenset()
    phrases: tuple[Phrase, ...] = ()
    side: str = ""
    gap: int = 0
    edge: str = ""
    optional: bool = False
    triggers: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Pattern:
    """A compiled pattern: sequences that must all be found near each other. `text` is as written.

    Of each set in `needed`, the smallest first, one word must be in a text for the pattern to match there.
    """

    text: str
    sequences: tuple[tuple[Element, ...], ...]
    needed: tuple[frozenset[str], ...]

    def possible(self, words: Set[str]) -> bool:
        """Whether a text of these words (forms and lemmas) may match at all."""
        return not any(needed.isdisjoint(words) for needed in self.needed)

    def find(self, tokens: Tokens, first: int, last: int, stance: Stance | None) -> Iterator[tuple[int, int]]:
        """Spans (first, one past last) where the pattern matches in tokens[first:last]."""
        text = _Text(tokens, first, last, stance)
        spans = [_find_sequence(sequence, text) for sequence in self.sequences]
        if len(spans) == 1:
            yield from spans[0]
            return
        others = [list(found) for found in spans[1:]]
        for start, end in spans[0]:
            for found in others:
                near = [s for s in found if _apart((start, end), s) in range(_WINDOW + 1)]
                if not near:
                    break
                best = min(near, key=lambda s: _apart((start, end), s))
                start, end = min(start, best[0]), max(end, best[1])
            else:
                yield start, end


@dataclass(frozen=True, slots=True)
class _Text:
    tokens: Tokens
    first: int
    last: int
    stance: Stance | None


class Compiler:
    """Turns pattern texts into patterns, over the word classes they may name; each only once."""

    def __init__(self, classes: Mapping[str, tuple[Phrase, ...]]):
        self._classes = classes
        self._elements: dict[str, Element] = {}
        self._patterns: dict[str, Pattern] = {}

    def anchors(self, text: str) -> frozenset[str]:
        """Words of which one must be in a text for the pattern to match, found without compiling it if possible."""
        plain = [word for word in text.replace("-", " ").split() if _PLAIN_WORDS.fullmatch(word)]
        telling = [word for word in plain if not GLUE.intersection(word.split("/"))]
        if not telling:
            return self.compile(text).needed[0]
        return frozenset(word.lstrip("=") for word in max(telling, key=_how_telling).split("/"))

    def compile(self, text: str) -> Pattern:
        """The pattern behind `text`. Raises LexiconError (without place) saying what is wrong with it."""
        if text not in self._patterns:
            self._patterns[text] = self._compile(text)
        return self._patterns[text]

    def _compile(self, text: str) -> Pattern:
        sequences = tuple(self._sequence(part, text) for part in text.split("&"))
        needed = {e.triggers for sequence in sequences for e in sequence if not e.optional and e.triggers}
        if not needed:
            raise LexiconError(f'pattern "{text}" holds no word that must be there; add one')
        return Pattern(text, sequences, tuple(sorted(needed, key=lambda words: (len(words), min(words)))))

    def _sequence(self, text: str, whole: str) -> tuple[Element, ...]:
        if _HYPHEN_IN_LIST.search(text):
            raise LexiconError(f'pattern "{whole}" has a hyphen inside a list of words; write those words out')
        elements = tuple(self._element(word, whole) for word in text.replace("-", " ").split())
        if not any(e.triggers for e in elements):
            raise LexiconError(f'pattern "{whole}" has a part without any word; add one')
        if any(e.edge == "^" for e in elements[1:]) or any(e.edge == "$" for e in elements[:-1]):
            raise LexiconError(f'pattern "{whole}" has ^ or $ in its middle; they stand first and last')
        if elements[-1].optional or elements[-1].gap:
            raise LexiconError(f'pattern "{whole}" ends in what may be missing; leave that out')
        return elements

    def _element(self, text: str, whole: str) -> Element:
        if text not in self._elements:
            self._elements[text] = _compile_element(text, whole, self._classes)
        return self._elements[text]


def _how_telling(word: str) -> tuple[int, int]:
    return (-word.count("/"), len(word))


def _compile_element(text: str, whole: str, classes: Mapping[str, tuple[Phrase, ...]]) -> Element:
    if text in _GAPS:
        return Element(gap=_GAPS[text])
    if text in ("^", "$"):
        return Element(edge=text)
    optional = text.startswith("(") and text.endswith(")")
    words: set[str] = set()
    exact: set[str] = set()
    phrases: list[Phrase] = []
    side = ""
    for part in text.strip("()").split("/"):
        if part in _SIDES:
            side = part
        elif part.startswith("@"):
            if part[1:] not in classes:
                raise LexiconError(f'pattern "{whole}" names an unknown class "{part}"; see words.yaml')
            for phrase in classes[part[1:]]:
                if len(phrase) > 1:
                    phrases.append(phrase)
                elif phrase[0].startswith("="):
                    exact.add(phrase[0][1:])
                else:
                    words.add(phrase[0])
        elif part.startswith("="):
            exact.add(part[1:])
        elif part.replace("'", "").isalnum():
            _check_word(part, whole)
            words.add(part)
        else:
            raise LexiconError(f'pattern "{whole}" has a part that cannot be read: "{part}"')
    sides = set().union(*_SIDES[side].values()) if side else set[str]()
    triggers = frozenset(words | exact | sides | {phrase[0] for phrase in phrases})
    return Element(frozenset(words), frozenset(exact), tuple(phrases), side, optional=optional, triggers=triggers)


def _check_word(word: str, whole: str) -> None:
    """Refuse a word that no text holds once it is read: "don't" is read as "do not"."""
    read = tokenize(word).forms
    if read != (word,):
        raise LexiconError(f'pattern "{whole}" holds "{word}", which is read as "{" ".join(read)}"; write that')


def _apart(a: tuple[int, int], b: tuple[int, int]) -> int:
    """Words between two spans; -1 where they overlap."""
    return max(a[0], b[0]) - min(a[1], b[1]) if a[1] <= b[0] or b[1] <= a[0] else -1


def _find_sequence(sequence: tuple[Element, ...], text: _Text) -> Iterator[tuple[int, int]]:
    start = text.first
    while start < text.last:
        end = _match(sequence, 0, start, text, text.last)
        if end is not None and end > start:
            yield start, end
            start = max(start + 1, end)
        else:
            start += 1


def _match(sequence: tuple[Element, ...], place: int, i: int, text: _Text, end: int) -> int | None:
    """One past the last token when sequence[place:] matches from token i on, shortest way first."""
    if place == len(sequence):
        return i
    element = sequence[place]
    if element.edge == "^":
        return _match(sequence, place + 1, i, text, end) if _only_glue(text, text.first, i) else None
    if element.edge == "$":
        return i if _only_glue(text, i, text.last) else None
    if element.gap:
        words = 0
        while True:
            if (found := _match(sequence, place + 1, i, text, end)) is not None:
                return found
            if i >= text.last or (words := words + text.tokens.forms[i][-1].isalnum()) > element.gap:
                return None
            i += 1
    for after in _match_element(element, i, text):
        if (found := _match(sequence, place + 1, after, text, end)) is not None:
            return found
    if element.optional and (found := _match(sequence, place + 1, i, text, end)) is not None:
        return found
    if place and not sequence[place - 1].edge and i < text.last and text.tokens.forms[i] in GLUE:
        return _match(sequence, place, i + 1, text, end)
    return None


def _match_element(element: Element, i: int, text: _Text) -> Iterator[int]:
    if i >= text.last:
        return
    form, lemma = text.tokens.forms[i], text.tokens.lemmas[i]
    if (
        form in element.words
        or lemma in element.words
        or form in element.exact
        or (element.side and form in _SIDES[element.side][text.stance])
    ):
        yield i + 1
    for phrase in element.phrases:
        if (end := _match_phrase(phrase, i, text)) is not None:
            yield end


def _match_phrase(phrase: Phrase, i: int, text: _Text) -> int | None:
    for word in phrase:
        while i < text.last and text.tokens.forms[i] == "-":
            i += 1
        if i >= text.last or word not in (text.tokens.forms[i], text.tokens.lemmas[i]):
            return None
        i += 1
    return i


def _only_glue(text: _Text, first: int, last: int) -> bool:
    return all(not f[0].isalnum() or f in _OPENERS for f in text.tokens.forms[first:last])


_OPENERS = frozenset("and so but now ok okay right well yeah yes look see there again oh uh um please mate".split())
