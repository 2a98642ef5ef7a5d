"""A transcript as sentences and clauses of tokens, each token with its spoken time.

A clause is the reach of a negation, a mood and a subject; nothing grammatical crosses its edge.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from lexicon import Lexicon
from lexicon.tokens import Tokens, tokenize
from notes.model import Transcript

_ENDS = frozenset({".", "?", "!", "...", "…", "?!", "!!", "!?"})
_PAUSES = frozenset({",", ";", ":", "-", "(", ")"})
SUBJECTS = frozenset("i you he she they we it who that this there".split())
JOINTS = frozenset("and but so because cos 'cause cause then while when if or though although since until till".split())
_BREAKERS = frozenset("but so now okay ok oh yep yeah nah right alright then see look because cos anyway".split())
_RUN_ON = 16


@dataclass(frozen=True, slots=True)
class Sentence:
    """tokens[first:last], spoken from start_ms to end_ms, and its clauses as (first, last) pairs."""

    index: int
    first: int
    last: int
    start_ms: int
    end_ms: int
    clauses: tuple[tuple[int, int], ...]
    question: bool

    def clause_of(self, token: int) -> tuple[int, int]:
        """The clause that holds a token."""
        return next(c for c in self.clauses if token < c[1])


@dataclass(frozen=True, slots=True)
class Talk:
    """Everything said, in order."""

    text: str
    tokens: Tokens
    near: frozenset[int]
    sentences: tuple[Sentence, ...]

    def quote(self, first: Sentence, last: Sentence) -> str:
        """The words from one sentence to another, exactly as transcribed."""
        return self.text[self.tokens.starts[first.first] : self.tokens.ends[last.last - 1]]


def read_talk(transcript: Transcript, lexicon: Lexicon, names: Iterable[str] = ()) -> Talk:
    """The sentences of a transcript, unknown words other than `names` respelt to the vocabulary's."""
    script = spoken_script(transcript)
    tokens, near = lexicon.respell(tokenize(script.text), frozenset(tokenize(" ".join(names)).forms))
    firsts = [first for first, _, _ in script.spans]

    def times(token: int) -> tuple[int, int]:
        _, start, end = script.spans[bisect_right(firsts, tokens.starts[token]) - 1]
        return start, end

    sentences: list[Sentence] = []
    for first, last in _sentence_edges(tokens, script.segments):
        sentences.append(
            Sentence(
                index=len(sentences),
                first=first,
                last=last,
                start_ms=times(first)[0],
                end_ms=max(times(last - 1)[1], times(first)[1]),
                clauses=tuple(_clause_edges(tokens, first, last)),
                question=tokens.forms[last - 1].startswith("?"),
            )
        )
    return Talk(script.text, tokens, near, tuple(sentences))


@dataclass(frozen=True, slots=True)
class Script:
    """The whole talk as one text; where in it each word (or cue without words) starts, with its times in ms; where
    each segment starts."""

    text: str
    spans: tuple[tuple[int, int, int], ...]
    segments: frozenset[int]


def spoken_script(transcript: Transcript) -> Script:
    """A transcript as one text whose characters lead back to spoken times."""
    parts: list[str] = []
    spans: list[tuple[int, int, int]] = []
    edges: list[int] = []
    length = 0
    for segment in transcript.segments:
        edges.append(length)
        units = [(w.text, w.start_ms, w.end_ms) for w in segment.words] or [
            (segment.text, segment.start_ms, segment.end_ms)
        ]
        for text, start, end in units:
            spans.append((length, start, end))
            parts.append(text)
            length += len(text) + 1
    return Script(" ".join(parts), tuple(spans), frozenset(edges))


def _sentence_edges(tokens: Tokens, segment_starts: frozenset[int]) -> Iterator[tuple[int, int]]:
    """(first, one past last) token of each sentence: ended by punctuation, or by the segment where there is none."""
    first = 0
    for i in range(len(tokens)):
        ended = tokens.forms[i] in _ENDS
        at_edge = i + 1 < len(tokens) and tokens.starts[i + 1] in segment_starts
        if i + 1 == len(tokens) or (ended and not _more_marks(tokens, i + 1)) or (at_edge and not ended):
            if at_edge and not ended and _carries_on(tokens, i):
                continue
            yield from _split_run_on(tokens, first, i + 1)
            first = i + 1


def _more_marks(tokens: Tokens, i: int) -> bool:
    return i < len(tokens) and (tokens.forms[i] in _ENDS or tokens.forms[i] in {'"', "'", ")"})


def _carries_on(tokens: Tokens, i: int) -> bool:
    """Whether the sentence goes on over a cue's edge: it breaks off at a comma or a word that wants another."""
    return tokens.forms[i] in _PAUSES or tokens.forms[i] in JOINTS or tokens.forms[i] in _WANTING


_WANTING = frozenset("the a an your his her my their of to with at in on for from is are was were not you i we".split())


def _split_run_on(tokens: Tokens, first: int, last: int) -> Iterator[tuple[int, int]]:
    """Talk without punctuation, cut before words that open a new remark."""
    if last - first <= _RUN_ON or any(f in _PAUSES for f in tokens.forms[first:last]):
        yield first, last
        return
    start = first
    for i in range(first + 4, last - 3):
        form, after = tokens.forms[i], tokens.forms[i + 1]
        opens = form in _BREAKERS or (form == "and" and (after in SUBJECTS or after in {"your", "the", "his", "her"}))
        if opens and i - start >= 5:
            yield start, i
            start = i
    yield start, last


def _clause_edges(tokens: Tokens, first: int, last: int) -> Iterator[tuple[int, int]]:
    start = first
    for i in range(first + 1, last):
        form, before = tokens.forms[i], tokens.forms[i - 1]
        if (before in _PAUSES and not _joins(tokens, i - 1)) or (form in JOINTS and i - start >= 2):
            yield start, i
            start = i
    yield start, last


def _joins(tokens: Tokens, i: int) -> bool:
    """Whether a mark stands inside a word, as the hyphen of "wind-up" does."""
    return tokens.ends[i - 1] == tokens.starts[i] and tokens.ends[i] == tokens.starts[i + 1]
