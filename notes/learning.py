"""The second reader learns from what people kept, amended and struck in one home, and from nothing else.

Each recording with verdicts is judged again by the model as it comes; the log says for which of its observations a
verdict stands. Four parts learn, each for itself: what is heard to begin (a vector for each kind), whether that is to
be believed (the weights of merging), which fault and which technique it is (the vectors of the ids). A part is taken
over only where it reads corrections that were held back better than the model as it comes; the encoder stays as it is.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lexicon import Lexicon
from lexicon.entries import Sort
from notes.archive.archive import Archive
from notes.archive.entries import entries_now, threads
from notes.archive.recordings import Recording
from notes.archive.verdicts import Entry
from notes.lesson import LEAST, LEAST_EITHER, Lesson, Part
from notes.model import Kind, Observation
from notes.reading.merging import Candidate, Merger
from notes.reading.observations import read_material
from notes.reading.second.club import BEGINS, MERGING, NAMED, Changes, Club
from notes.reading.second.reader import KINDS, NO_TECHNIQUE, Array, SecondReader
from notes.reading.second.refit import Corrections, Naming, Presence, held_back
from notes.reading.second.weights import BIAS, Weights
from notes.speech.transcripts import parse_transcript

_FOLDS = 5
_POOLED = 384
# How firmly the shipped numbers are held (1 / variance of the change), chosen on the tune reviews of one writer
# (tests/evaluation/learned.py).
PRIORS = {BEGINS: 100.0, MERGING: 100.0, "fault": 100.0, "technique": 1000.0}


@dataclass(frozen=True, slots=True)
class Named:
    """Where a remark stands among the ids of a sort (192,), what speaks for each, and the ids that a person left."""

    about: Array
    scores: dict[str, float]
    chosen: frozenset[str]


@dataclass(frozen=True, slots=True)
class Correction:
    """What a person decided on one candidate of a recording (by its place among those read): whether it is right, what
    its kind looked at in its sentence (384,) and the log odds that it begins there. `features` are those of merging,
    None where neither reader has heard it."""

    recording: int
    kind: Kind
    right: bool
    pooled: Array
    begins: float
    features: dict[str, float] | None
    named: dict[Sort, Named]


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
            change = part.fit().astype(np.float32)
            changes[name] = dict(zip(names, change.reshape(len(names), -1) if name == BEGINS else change, strict=True))
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
    entries = entries_now(archive.db, recording.sha256, ([], [o for _, o in read.values()]))
    told: dict[int, list[Entry]] = {}
    found = []
    for entry in entries:
        if entry.read_as:
            told.setdefault(read[entry.read_as][0], []).append(entry)
        elif timed and _left(entry):
            missed = merger.passed_over(entry.observation.kind, entry.observation.start_ms)
            found.append(_correction(merger, missed, [entry], place, heard=False))
    found += [_correction(merger, candidates[i], told[i], place, heard=True) for i in sorted(told)]
    return found, Counter(str(e.verdict) for e in entries if e.read_as or _left(e))


def _left(entry: Entry) -> bool:
    """Whether a person left it in an athlete's log."""
    return entry.verdict != "struck" and entry.observation.role == "athlete"


def _correction(
    merger: Merger, candidate: Candidate, entries: Sequence[Entry], place: int, *, heard: bool
) -> Correction:
    left = [e.observation for e in entries if _left(e) and e.observation.kind == candidate.kind]
    at, k = merger.heard_at(candidate), KINDS.index(candidate.kind)
    chance = min(max(float(merger.judged.begins[at, k]), 1e-4), 1 - 1e-4)
    return Correction(
        recording=place,
        kind=candidate.kind,
        right=bool(left),
        pooled=merger.judged.pooled[at, k],
        begins=math.log(chance / (1 - chance)),
        features=merger.features(candidate) if heard else None,
        named=dict(_named(merger, candidate, at, left[0])) if left else {},
    )


def _named(merger: Merger, candidate: Candidate, at: int, left: Observation) -> Iterator[tuple[Sort, Named]]:
    """What a person left as fault and technique."""
    if candidate.kind == "fault":
        scores = merger.fault_scores(candidate, at)
        yield "fault", Named(merger.judged.among_faults[at], scores, frozenset(left.faults))
    if candidate.kind != "welfare":
        scores = merger.technique_scores(candidate, at)
        about = merger.judged.among_techniques[at, KINDS.index(candidate.kind)]
        yield "technique", Named(about, scores, frozenset(left.techniques or (NO_TECHNIQUE,)))


def _parts(
    corrections: Sequence[Correction], second: SecondReader
) -> Iterator[tuple[str, Sequence[str], list[Correction], Corrections]]:
    """Each part of the reader: its name, the names of what changes in it, and the corrections that it learns from."""
    yield BEGINS, KINDS, list(corrections), beginning(corrections, PRIORS[BEGINS])
    rows = [c for c in corrections if c.features is not None]
    names = [BIAS, *sorted(second.weights.features)]
    yield MERGING, names, rows, presence(rows, names, second.weights, PRIORS[MERGING])
    for sort in NAMED:
        ids = second.ids[sort]
        rows = [c for c in corrections if sort in c.named and c.named[sort].chosen.intersection(ids)]
        yield sort, ids, rows, naming([c.named[sort] for c in rows], ids, second.sharpness(sort), PRIORS[sort])


def beginning(corrections: Sequence[Correction], prior: float) -> Presence:
    """Corrections of what is heard to begin: as features, what a kind looked at, in the columns of that kind."""
    features = np.zeros((len(corrections), len(KINDS), _POOLED))
    for row, c in zip(features, corrections, strict=True):
        row[KINDS.index(c.kind)] = c.pooled
    return Presence(
        features=features.reshape(len(corrections), len(KINDS) * _POOLED),
        shipped=np.array([c.begins for c in corrections], np.float64),
        logged_from=np.zeros(len(corrections)),
        right=np.array([c.right for c in corrections], bool),
        prior=prior,
    )


def presence(corrections: Sequence[Correction], names: Sequence[str], weights: Weights, prior: float) -> Presence:
    """Corrections of whether what was heard is to be believed."""
    logged_from = np.array([weights.logged_from(c.kind) for c in corrections], np.float64)
    told = [{BIAS: 1.0} | (c.features or {}) for c in corrections]
    return Presence(
        features=np.array([[t.get(name, 0.0) for name in names] for t in told]).reshape(-1, len(names)),
        shipped=np.array([weights.log_odds(c.features or {}) for c in corrections], np.float64),
        logged_from=np.log(logged_from / (1 - logged_from)),
        right=np.array([c.right for c in corrections], bool),
        prior=prior,
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
