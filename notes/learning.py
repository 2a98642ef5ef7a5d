"""The second reader learns from what people kept, amended and struck in one home, and from nothing else.

Each recording with verdicts is judged again by the model as it comes; the log says for which of its observations a
verdict stands. Three parts learn, each for itself: whether something is there (the weights of merging), which fault
and which technique it is (the vectors of the ids). A part is taken over only where it reads corrections that were held
back better than the model as it comes; the encoder stays as it is.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from lexicon import Lexicon
from lexicon.entries import Sort
from notes.archive.archive import Archive
from notes.archive.entries import entries_now, threads
from notes.archive.recordings import Recording
from notes.archive.verdicts import Entry
from notes.model import Observation
from notes.reading.merging import Candidate, Merger
from notes.reading.observations import read_material
from notes.reading.second.club import MERGING, NAMED, Changes, Club
from notes.reading.second.reader import KINDS, NO_TECHNIQUE, Array, SecondReader
from notes.reading.second.refit import Corrections, Figures, Naming, Presence, held_back
from notes.reading.second.weights import BIAS, Weights
from notes.speech.transcripts import parse_transcript

# A part learns from so many corrections at least, and what is there from so many of either sort.
LEAST = 6
LEAST_EITHER = 3
_FOLDS = 5
# How firmly the shipped numbers are held (1 / variance of the change), chosen on the tune reviews of one writer
# (tests/evaluation/club.py).
PRIORS = {MERGING: 100.0, "fault": 100.0, "technique": 300.0}


@dataclass(frozen=True, slots=True)
class Named:
    """Where a remark stands among the ids of a sort (192,), what speaks for each, and the ids that a person left."""

    about: Array
    scores: dict[str, float]
    chosen: frozenset[str]


@dataclass(frozen=True, slots=True)
class Correction:
    """What a person decided on one candidate of a recording (by its place among those read)."""

    recording: int
    candidate: Candidate
    features: dict[str, float]
    right: bool
    named: dict[Sort, Named]


@dataclass(frozen=True, slots=True)
class Part:
    """What came of a part of the reader: `figures` where there were corrections enough, whether it was taken over."""

    name: str
    count: int
    figures: Figures | None

    @property
    def taken(self) -> bool:
        """Whether it is read by from now on."""
        return bool(self.figures and self.figures.better)


@dataclass(slots=True)
class Lesson:
    """What was learned from how many recordings and verdicts of each state. `club` is what is read by from now on,
    None where no part was taken over: then all stays as it was."""

    recordings: int = 0
    verdicts: Counter[str] = field(default_factory=Counter)
    parts: list[Part] = field(default_factory=list)
    club: Club | None = None


def learn(
    archive: Archive, lexicon: Lexicon, second: SecondReader, told: Callable[[int], None] = lambda done: None
) -> Lesson:
    """Learn from all corrections of a home and keep it there, if it is better; nothing else in the home changes.

    second: the model as it comes, with the ids of `lexicon`. told: called with the number of recordings just read.
    """
    lesson = Lesson()
    corrections = []
    for recording in corrected(archive):
        found, verdicts = corrections_in(archive, recording, lesson.recordings, lexicon, second)
        corrections += found
        lesson.verdicts += verdicts
        lesson.recordings += 1
        told(1)
    changes: dict[str, Changes] = {}
    for name, names, rows, part in _parts(corrections, second):
        enough = len(rows) >= LEAST and (not isinstance(part, Presence) or _both(part))
        figures = held_back(part, _folds(rows)) if enough else None
        lesson.parts.append(Part(name, len(rows), figures))
        if figures and figures.better:
            changes[name] = dict(zip(names, part.fit().astype(np.float32), strict=True))
    if changes:
        lesson.club = Club(second.shipped_sha256, changes)
        lesson.club.keep(archive.path.parent)
    return lesson


def corrected(archive: Archive) -> list[Recording]:
    """The recordings in which somebody has said a word, oldest first."""
    return [r for r in archive.recordings() if any(t.standing for t in threads(archive.db, r.sha256))]


def corrections_in(
    archive: Archive, recording: Recording, place: int, lexicon: Lexicon, second: SecondReader
) -> tuple[list[Correction], Counter[str]]:
    """What people decided in a recording, by candidate as it is read today; and the verdicts that stand for one."""
    data, timed = archive.heard(recording.sha256)
    material = read_material(parse_transcript(data, recording.name, timed=timed), recording.sheet, lexicon)
    if not material.remarks:
        return [], Counter()
    merger = material.merger(second)
    candidates = merger.candidates(material.drafts)
    read: dict[str, tuple[int, Observation]] = {}
    for i in sorted(range(len(candidates)), key=lambda i: (-candidates[i].chance, i)):
        for draft in merger.drafted(candidates[i]):
            o = material.observation(draft).with_id(recording.sha256)
            read.setdefault(o.id, (i, o))
    entries: dict[int, list[Entry]] = {}
    for entry in entries_now(archive.db, recording.sha256, ([], [o for _, o in read.values()])):
        if entry.read_as:
            entries.setdefault(read[entry.read_as][0], []).append(entry)
    found = [_correction(merger, candidates[i], entries[i], place) for i in sorted(entries)]
    return found, Counter(str(e.verdict) for some in entries.values() for e in some)


def _correction(merger: Merger, candidate: Candidate, entries: Sequence[Entry], place: int) -> Correction:
    left = [
        e.observation
        for e in entries
        if e.verdict != "struck" and e.observation.role == "athlete" and e.observation.kind == candidate.kind
    ]
    named = dict(_named(merger, candidate, left[0])) if left else {}
    return Correction(place, candidate, merger.features(candidate), bool(left), named)


def _named(merger: Merger, candidate: Candidate, left: Observation) -> Iterator[tuple[Sort, Named]]:
    """What a person left as fault and technique; nothing of a draft whose ids the second reader does not choose."""
    at, k = candidate.sentence, KINDS.index(candidate.kind)
    if at is None:
        return
    if candidate.kind == "fault":
        scores = merger.fault_scores(candidate, at)
        yield "fault", Named(merger.judged.among_faults[at], scores, frozenset(left.faults))
    if candidate.kind != "welfare":
        scores = merger.technique_scores(candidate, at)
        about = merger.judged.among_techniques[at, k]
        yield "technique", Named(about, scores, frozenset(left.techniques or (NO_TECHNIQUE,)))


def _parts(
    corrections: Sequence[Correction], second: SecondReader
) -> Iterator[tuple[str, list[str], list[Correction], Corrections]]:
    """Each part of the reader: its name, the names of what changes in it, and the corrections that it learns from."""
    names = [BIAS, *sorted({*second.weights.features, *(name for c in corrections for name in c.features)})]
    yield MERGING, names, list(corrections), presence(corrections, names, second.weights)
    for sort in NAMED:
        ids = second.ids[sort]
        rows = [c for c in corrections if sort in c.named and c.named[sort].chosen.intersection(ids)]
        yield sort, list(ids), rows, naming([c.named[sort] for c in rows], ids, second.sharpness(sort), PRIORS[sort])


def presence(corrections: Sequence[Correction], names: Sequence[str], weights: Weights) -> Presence:
    """Corrections of whether something is there."""
    logged_from = np.array([weights.logged_from(c.candidate.kind) for c in corrections], np.float64)
    told = [{BIAS: 1.0} | c.features for c in corrections]
    return Presence(
        features=np.array([[t.get(name, 0.0) for name in names] for t in told]).reshape(-1, len(names)),
        shipped=np.array([weights.log_odds(c.features) for c in corrections], np.float64),
        logged_from=np.log(logged_from / (1 - logged_from)),
        right=np.array([c.right for c in corrections], bool),
        prior=PRIORS[MERGING],
    )


def naming(rows: Sequence[Named], ids: Sequence[str], sharp: float, prior: float) -> Naming:
    """Corrections of which id it is."""
    return Naming(
        about=np.array([row.about for row in rows], np.float64),
        shipped=np.array([[row.scores[name] for name in ids] for row in rows], np.float64).reshape(-1, len(ids)),
        chosen=np.array([[name in row.chosen for name in ids] for row in rows], bool).reshape(-1, len(ids)),
        sharp=sharp,
        prior=prior,
    )


def _both(part: Presence) -> bool:
    right = int(part.right.sum())
    return min(right, len(part.right) - right) >= LEAST_EITHER


def _folds(rows: Sequence[Correction]) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    """Corrections of one recording are held back together; those of a single recording one by one in turn."""
    places = [c.recording for c in rows]
    if len(set(places)) == 1:
        return np.arange(len(rows)) % _FOLDS
    order = {place: i % _FOLDS for i, place in enumerate(sorted(set(places)))}
    return np.array([order[place] for place in places])
