"""Where a found quote says what was asked for."""

from collections.abc import Iterator, Sequence

from lexicon import Lexicon
from lexicon.tokens import tokenize
from notes.archive.asking import Asked
from notes.archive.words import words_of


def marks_in(quote: str, asked: Asked, lexicon: Lexicon) -> tuple[tuple[int, int], ...]:
    """Where a quote says what was asked for, as characters from, to; parts that touch are one."""
    tokens = tokenize(quote)
    spoken = words_of(tokens, quote)
    spans = [(s.start, s.end) for s in spoken if s.word in asked.reasons]
    for phrase in asked.phrases:
        for i in range(len(spoken) - len(phrase) + 1):
            if tuple(s.word for s in spoken[i : i + len(phrase)]) == phrase:
                spans.append((spoken[i].start, spoken[i + len(phrase) - 1].end))
    for hit in lexicon.find_entries(tokens, 0, len(tokens), "orthodox", only=asked.concepts):
        spans.append((tokens.starts[hit.first], tokens.ends[hit.last - 1]))
    return tuple(_joined(sorted(spans), quote))


def _joined(spans: Sequence[tuple[int, int]], quote: str) -> Iterator[tuple[int, int]]:
    last: tuple[int, int] | None = None
    for start, end in spans:
        if last and not quote[last[1] : start].strip():
            last = (last[0], max(last[1], end))
        else:
            if last:
                yield last
            last = (start, end)
    if last:
        yield last
