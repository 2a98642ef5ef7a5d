"""Words of the trade put right where the recogniser wrote something that sounds like them.

Every exchange is recorded: the first word of what was put in keeps in `heard` all that stood there, any further word
keeps "" there, and `undone` gives back what the recogniser wrote. Nothing is exchanged away from talk of fighting.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from lexicon.misheard import Mishearing
from notes.model import Segment, Transcript, Word
from notes.speech.phonemes import is_ordinary, near, sound_of
from notes.speech.terms import TradeWords

IsCommon = Callable[[str], bool]

_LONGEST_SPAN = 4
_WINDOW = 14
_NEEDED_SIGNS = 2
_PARTS = re.compile(r"^([\"'“(\[¿-]*)(.*?)([.,?!…:;\"'”)\]-]*)$", re.DOTALL)
# Likeness that a span needs, by the number of sounds of the term. Where every word is a common one, nothing less than
# the very sounds will do.
_ENOUGH = ((4, 0.90), (6, 0.86), (99, 0.80))
_SHORTEST = 3
_SHORTEST_IF_COMMON = 6

# A word less probable than this may be another; a term less probable than the second may come of the prose.
UNSURE = 0.85
_VERY = 0.7

# Signs of a fight; at least one must be of those that hardly have an everyday sense.
_STRONG = frozenset(
    "jab jabs uppercut uppercuts southpaw orthodox punch punches punching punched kick kicks kicking kicked clinch"
    " spar sparring takedown takedowns sprawl underhook overhook armbar kimura guillotine omoplata teep teeps feint"
    " feints parry overhand roundhouse backfist whizzer headguard gumshield counterpunch combination combo guard"
    " footwork stance opponent gloves boxing grappling knees elbows shin choke submission pummel wrestle strikes"
    " striking".split()
)
_WEAK = frozenset(
    "cross hook hooks crosses hand hands head chin hip hips foot feet knee elbow leg legs body round counter slip weave"
    " left right lead rear low high step angle distance range throw throws throwing land lands landed hit hits mount"
    " grip posture frame shoot shoots shot shots belt cage ropes fence bell corner calf thigh shoulder shoulders pivot"
    " circle exit double single sweep neck turtle squared straight outside inside".split()
)


@dataclass(frozen=True, slots=True)
class Swap:
    """Words `first` to `last`, the latter not among them, for which `said` is put."""

    first: int
    last: int
    said: str


def repaired(segments: list[Segment], trade: TradeWords, is_common: IsCommon) -> list[Segment]:
    """Segments with their words put right: club's and shipped mishearings first, then what sounds like a term or name.

    `is_common` tells whether a small-letter word is one that the recogniser writes of habit.
    """
    segments = _exchange_all(segments, _listed(trade.club + trade.shipped))
    return _exchange_all(segments, _sounding(trade, is_common))


def heard_by_club(transcript: Transcript, club: tuple[Mishearing, ...]) -> Transcript:
    """A transcript with the club's mishearings put right; the same one where there are none in it.

    Words with times keep in `heard` what they were. Captions have no such place: their text is changed.
    """
    if not club:
        return transcript
    timed = [s if s.words else replace(s, words=_placed(s)) for s in transcript.segments]
    done = _exchange_all(timed, _listed(club))
    kept = [
        before if after.text == before.text else after if before.words else replace(after, words=())
        for before, after in zip(transcript.segments, done, strict=True)
    ]
    return replace(transcript, segments=tuple(kept))


def undone(segment: Segment) -> Segment:
    """The segment as the recogniser wrote it."""
    words: list[Word] = []
    for word in segment.words:
        if word.heard is None:
            words.append(word)
        elif word.heard:
            end = _end_of_swap(segment.words, segment.words.index(word))
            words += _spread(word.heard.split(), word.start_ms, segment.words[end - 1].end_ms, word.probability)
    return _with_words(segment, words)


def tells_of_fighting(words: Sequence[Word], trade: TradeWords) -> bool:
    """Whether talk holds two different signs that are hardly found away from fighting: words, or terms of several."""
    bare, _ = bare_words(words)
    text = f" {' '.join(bare)} ".replace("-", " ")
    terms = (f" {term.lower()} ".replace("-", " ") for term in trade.terms if len(term.split()) > 1)
    return len(set(bare) & _STRONG) + sum(term in text for term in terms) >= _NEEDED_SIGNS


def has_unsure_term(words: Sequence[Word], trade: TradeWords) -> bool:
    """Whether a term of one word, or a sign of fighting, is among the words that the recogniser was very unsure of.

    Names do not count: few words sound like one.
    """
    unsure = {bare for word, bare in zip(words, bare_words(words)[0], strict=True) if (word.probability or 0.0) < _VERY}
    return bool(unsure & (_STRONG | {spelt.lower() for spelt in trade.sounds if spelt not in trade.names}))


Finder = Callable[[list[str], list[str]], Iterator[Swap]]


def _exchange_all(segments: list[Segment], find: Finder) -> list[Segment]:
    """Apply what `find` finds, told the bare words of the whole talk and the marks behind them."""
    raw = [word for segment in segments for word in segment.words]
    bare, marks = bare_words(raw)
    edges, count = [], 0
    for segment in segments:
        count += len(segment.words)
        edges.append(count)
    swaps: dict[int, Swap] = {}
    taken: set[int] = set()
    for swap in find(bare, marks):
        crosses = any(swap.first < edge < swap.last for edge in edges)
        if not crosses and taken.isdisjoint(range(swap.first, swap.last)) and _in_fight(bare, swap):
            swaps[swap.first] = swap
            taken.update(range(swap.first, swap.last))
    if not swaps:
        return segments
    made, first = [], 0
    for segment, edge in zip(segments, edges, strict=True):
        made.append(
            _with_words(segment, list(_swapped(raw, swaps, first, edge)))
            if taken & set(range(first, edge))
            else segment
        )
        first = edge
    return made


def exchanged(words: Sequence[Word], swaps: Iterable[Swap]) -> tuple[Word, ...]:
    """The words after swaps that do not overlap."""
    return tuple(_swapped(words, {swap.first: swap for swap in swaps}, 0, len(words)))


def bare_words(words: Sequence[Word]) -> tuple[list[str], list[str]]:
    """The words in small letters without marks, and the marks behind each."""
    parts = [_PARTS.match(word.text) for word in words]
    return [_bare(word.text) for word in words], [m[3] if m else "" for m in parts]


def _bare(text: str) -> str:
    match = _PARTS.match(text)
    return match[2].lower().replace("’", "'") if match else ""


def _swapped(raw: Sequence[Word], swaps: dict[int, Swap], first: int, last: int) -> Iterator[Word]:
    at = first
    while at < last:
        if swap := swaps.get(at):
            old = raw[at : swap.last]
            likely = min((w.probability for w in old if w.probability is not None), default=None)
            new = _spread(in_place(old, swap.said).split(), old[0].start_ms, old[-1].end_ms, likely)
            was = " ".join(w.text if w.heard is None else w.heard for w in old).strip()
            yield replace(new[0], heard=was)
            yield from (replace(word, heard="") for word in new[1:])
            at = swap.last
        else:
            yield raw[at]
            at += 1


def in_place(old: Sequence[Word], said: str) -> str:
    """What is said, with the capital and the marks of the words whose place it takes."""
    opening, body, _ = _PARTS.match(old[0].text).groups()  # type: ignore[union-attr]
    closing = _PARTS.match(old[-1].text)[3]  # type: ignore[index]
    if body[:1].isupper() and said[:1].islower():
        said = said[:1].upper() + said[1:]
    return f"{opening}{said}{closing}"


def _spread(texts: list[str], start_ms: int, end_ms: int, probability: float | None) -> list[Word]:
    """Words laid over a span of time by their lengths."""
    total = sum(map(len, texts))
    words, done = [], 0
    for text in texts:
        begin = start_ms + (end_ms - start_ms) * done // total
        done += len(text)
        words.append(Word(text, begin, start_ms + (end_ms - start_ms) * done // total, probability))
    return words


def _with_words(segment: Segment, words: list[Word]) -> Segment:
    return replace(segment, text=" ".join(w.text for w in words), words=tuple(words))


def _placed(segment: Segment) -> tuple[Word, ...]:
    return tuple(_spread(segment.text.split(), segment.start_ms, segment.end_ms, None))


def _end_of_swap(words: tuple[Word, ...], first: int) -> int:
    end = first + 1
    while end < len(words) and words[end].heard == "":
        end += 1
    return end


def _in_fight(bare: list[str], swap: Swap) -> bool:
    """Whether a span stands in talk of fighting: two signs near it, one for what no dictionary holds."""
    around = {*bare[max(0, swap.first - _WINDOW) : swap.first], *bare[swap.last : swap.last + _WINDOW]}
    strong, weak = len(around & _STRONG), len(around & _WEAK)
    if not all(is_ordinary(word) for word in bare[swap.first : swap.last]):
        return strong + weak > 0
    return strong > 0 and strong + weak >= _NEEDED_SIGNS


def spans(bare: list[str], marks: list[str], longest: int) -> Iterator[tuple[int, int]]:
    """Spans of up to `longest` words, the longest first at each place; none goes over a mark."""
    for first in range(len(bare)):
        last = first + 1
        while last < len(bare) and last - first < longest and not marks[last - 1]:
            last += 1
        yield from ((first, end) for end in range(last, first, -1))


def _listed(mishearings: tuple[Mishearing, ...]) -> Finder:
    """What stands in a list of mishearings; an earlier entry wins."""
    known: dict[str, Mishearing] = {}
    for mishearing in mishearings:
        known.setdefault(mishearing.heard, mishearing)
    longest = max((len(heard.split()) for heard in known), default=0)

    def find(bare: list[str], marks: list[str]) -> Iterator[Swap]:
        for first, last in spans(bare, marks, longest):
            mishearing = known.get(" ".join(bare[first:last]))
            if mishearing and not _vetoed(mishearing, bare, first, last):
                yield Swap(first, last, mishearing.said)

    return find


def _vetoed(mishearing: Mishearing, bare: list[str], first: int, last: int) -> bool:
    around = f" {' '.join(bare[max(0, first - 3) : last + 3])} "
    return any(f" {phrase} " in around for phrase in mishearing.unless)


def _sounding(trade: TradeWords, is_common: IsCommon) -> Finder:
    """What sounds like a term or a name and is none."""
    written = {part for spelt in trade.sounds for part in (spelt.lower(), spelt.lower().replace("-", " "))}
    single = {part for spelt in written for part in spelt.split()}
    names = {name.lower() for name in trade.names}

    def find(bare: list[str], marks: list[str]) -> Iterator[Swap]:
        known: dict[str, str | None] = {}
        for first, last in spans(bare, marks, _LONGEST_SPAN):
            span = bare[first:last]
            text = " ".join(span)
            if not all(word.replace("'", "").isalpha() for word in span) or single & set(span):
                continue
            if text not in known:
                known[text] = best(span, text)
            if said := known[text]:
                yield Swap(first, last, said)

    same = {sound: spelt for spelt, sound in trade.sounds.items() if len(sound) >= _SHORTEST_IF_COMMON}
    longer = {spelt: sound for spelt, sound in trade.sounds.items() if len(sound) >= _SHORTEST}

    def best(span: list[str], text: str) -> str | None:
        if text in written or text.endswith("'s"):
            return None
        sound = sound_of(text)
        if all(is_common(word) for word in span):
            return same.get(sound)
        found = [
            (alike, spelt)
            for spelt, alike in near(sound, longer, _ENOUGH[-1][1])
            if alike >= next(least for size, least in _ENOUGH if len(longer[spelt]) <= size)
            and not (spelt.lower() in names and all(is_ordinary(word) for word in span))
        ]
        return max(found)[1] if found else None

    return find
