"""What a club gains when the second reader learns from its corrections: `learned.py [--priors]`.

A coach is simulated on the tune reviews of one writer. Half of them are added to a log; each note is kept where the gold
marking agrees, amended where its ids differ, struck where nothing is marked; of what is only offered, what is marked is
kept. Then the other half is read as before and as learned; and the halves change places. `--priors` instead shows, on
the other writer's reviews, how firmly the shipped numbers should be held. The last table is of a gym with an idiom of
its own, learned from ever more notes that the coach amended, or added where nothing was read.
"""

import math
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from evaluate import as_mark
from gold import Gold, read_split

import lexicon
from notes.archive.archive import Archive
from notes.archive.correcting import add_note, correct
from notes.extract import read
from notes.learning import Correction, beginning, corrected, corrections_in, learn, naming, presence
from notes.lesson import Lesson
from notes.model import Observation, Segment, Transcript
from notes.reading.observations import read_review
from notes.reading.second import refit
from notes.reading.second.club import BEGINS, MERGING
from notes.reading.second.reader import SecondReader, second_reader
from notes.reading.second.weights import BIAS
from notes.scoring import Mark, Pair, Score, score
from notes.sheet import Sheet
from notes.speech.transcripts import transcript_json

# Priors were chosen on the first writer's reviews, the figures are of the second's.
CHOSEN_ON, SHOWN_ON = "delta", "elder"
PRIORS = (1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0)
DAY = date(2031, 3, 14)

Verdicts = Callable[[Gold, Sequence[Observation], Sequence[Observation]], dict[str, dict[str, Any] | str]]

IDIOM = "hands-low"
# A made-up picture for hands that hang.
SAID = (
    "You're feeding the pigeons there.",
    "And there you go, feeding the pigeons.",
    "See that, Mara, pigeons getting fed.",
    "Two seconds later you're out feeding the pigeons.",
    "Look at you, you're feeding pigeons in front of him.",
    "That's the pigeons fed, right there.",
    "After the jab you go and feed the pigeons.",
    "You can't be feeding the pigeons when he's that close.",
    "He steps in because you're busy feeding the pigeons.",
    "Pigeons. You're feeding the pigeons.",
    "There you are feeding the pigeons while he walks in.",
    "You throw the cross and then you feed the pigeons.",
    "Round two and the pigeons are getting their dinner.",
    "You feed the pigeons every time you get tired.",
    "I see somebody feeding the pigeons here.",
    "That is you feeding the pigeons in the corner.",
    "You came in nicely, then you fed the pigeons.",
    "You're standing there feeding the pigeons for him.",
    "You fed the pigeons, and that's why he hit you.",
    "Out comes the bread, you're feeding the pigeons.",
)
AROUND = ("Right, second round now.", "{}", "Okay, let it run on a bit.", "Lovely jab.")


@dataclass(frozen=True)
class Read:
    """How the held-out reviews are read: what is found, and the log loss of confidence over all that is offered."""

    score: Score
    losses: tuple[float, ...]

    @property
    def line(self) -> str:
        """One row of the table."""
        s = self.score
        return f"{s.f1:>7.3f}{s.strict_f1:>8.3f}{s.false_per_100:>11.2f}{sum(self.losses) / len(self.losses):>10.3f}"


def verdicts(
    gold: Gold, logged: Sequence[Observation], perhaps: Sequence[Observation]
) -> dict[str, dict[str, Any] | str]:
    """What a coach who marks like the gold decides on each note, by id: a state, or what to amend."""
    told: dict[str, dict[str, Any] | str] = {}
    wanted = list(gold.marks)
    for found, sure in ((logged, True), (perhaps, False)):
        notes = [o for o in found if o.role == "athlete"]
        marks = [as_mark(o) for o in notes]
        by_mark = {id(m): o for m, o in zip(marks, notes, strict=True)}
        result = score(marks, wanted, gold.sentences)
        for pair in result.pairs:
            told[by_mark[id(pair.predicted)].id] = _amendment(pair) or "kept"
            wanted.remove(pair.true)
        if sure:
            told |= {by_mark[id(m)].id: "struck" for m in result.false}
    return told


def strikes_only(
    gold: Gold, logged: Sequence[Observation], perhaps: Sequence[Observation]
) -> dict[str, dict[str, Any] | str]:
    """A coach who only ever strikes and amends, and keeps nothing."""
    return {name: what for name, what in verdicts(gold, logged, perhaps).items() if what != "kept"}


def _amendment(pair: Pair) -> dict[str, Any]:
    found, true = pair.predicted, pair.true
    changes: dict[str, Any] = {}
    if true.kind == "fault" and not replace_techniques(pair).strict:
        changes["faults"] = _first(true.faults)
    if not Pair(replace(found, kind="strength"), replace(true, kind="strength")).strict:
        changes["techniques"] = _first(true.techniques)
    return changes


def replace_techniques(pair: Pair) -> Pair:
    """The pair without its techniques."""
    return Pair(replace(pair.predicted, techniques=()), replace(pair.true, techniques=()))


def _first(choices: Sequence[frozenset[str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(min(choice) for choice in choices if "none" not in choice))


def coach(home: Path, reviews: Sequence[Gold], second: SecondReader, decide: Verdicts = verdicts) -> None:
    """Add reviews to a home and correct them."""
    vocabulary = lexicon.load()
    with Archive(home) as archive:
        for gold in reviews:
            reading = read(gold.transcript, gold.sheet, vocabulary, f"{gold.name}.vtt", gold.name, second)
            archive.add(reading, gold.sheet, DAY, None, transcript_json(gold.transcript))
            told = decide(gold, reading.observations, reading.perhaps)
            for state in ("kept", "struck"):
                if ids := [name for name, what in told.items() if what == state]:
                    correct(archive, vocabulary, ids, state)
            for name, what in told.items():
                if isinstance(what, dict):
                    correct(archive, vocabulary, [name], "amended", what)


def taught(home: Path, second: SecondReader) -> tuple[Lesson, SecondReader]:
    """What is learned in a home, and the reader that has learned it."""
    with Archive(home) as archive:
        lesson = learn(archive, lexicon.load(), second)
    after = fresh()
    if lesson.club:
        after.take_over(lesson.club)
    return lesson, after


def read_all(reviews: Sequence[Gold], second: SecondReader) -> Read:
    """Reviews read, and scored against their marking."""
    vocabulary = lexicon.load()
    total, losses = Score(), []
    for gold in reviews:
        review = read_review(gold.transcript, gold.sheet, vocabulary, second)
        wanted = list(gold.marks)
        for found, counts in ((review.observations, True), (review.perhaps, False)):
            notes = [o for o in found if o.role == "athlete"]
            result = score([as_mark(o) for o in notes], wanted, gold.sentences)
            if counts:
                total.add(result)
            right = {id(pair.predicted) for pair in result.pairs}
            marks = [*(p.predicted for p in result.pairs), *result.false]
            chance = {_key(as_mark(o)): o.confidence for o in notes}
            losses += [-math.log(max(1e-9, c if id(m) in right else 1 - c)) for m in marks for c in [chance[_key(m)]]]
            wanted = [mark for mark in wanted if mark not in {pair.true for pair in result.pairs}]
    return Read(total, tuple(losses))


def _key(mark: Mark) -> tuple[Any, ...]:
    return mark.athlete, mark.kind, mark.start_ms, mark.end_ms, mark.techniques, mark.faults


def halves(writer: str) -> tuple[list[Gold], list[Gold]]:
    """The tune reviews of a writer, every other one."""
    reviews = [gold for gold in read_split("tune") if gold.name.startswith(writer)]
    return reviews[::2], reviews[1::2]


def show_gain(title: str, decide: Verdicts) -> None:
    """The other half of a club's reviews, read as it comes and as learned; both halves in turn."""
    second = fresh()
    before, after = Read(Score(), ()), Read(Score(), ())
    print(f"{title}\n{'':<16}{'F1':>7}{'strict':>8}{'false/100':>11}{'log loss':>10}")
    parts = halves(SHOWN_ON)
    for learned_from, shown in (parts, parts[::-1]):
        with tempfile.TemporaryDirectory() as folder:
            coach(Path(folder), learned_from, second, decide)
            lesson, reader = taught(Path(folder), second)
        for read_by, total in ((second, before), (reader, after)):
            one = read_all(shown, read_by)
            total.score.add(one.score)
            object.__setattr__(total, "losses", total.losses + one.losses)
        print_lesson(lesson)
    print(f"{'as it comes':<16}{before.line}\n{'learned':<16}{after.line}\n")


def print_lesson(lesson: Lesson) -> None:
    """What was learned from, and each part's figures on what was held back."""
    print(f"  {dict(lesson.verdicts)} in {lesson.recordings} reviews")
    for part in lesson.parts:
        if f := part.figures:
            told = f"right {f.right_before} -> {f.right_after}, loss {f.loss_before:.3f} -> {f.loss_after:.3f} ± {2 * f.error:.3f}"
            print(f"    {part.name}: {told} of {f.count}: {'taken' if part.taken else 'refused'}")
        else:
            print(f"    {part.name}: too few ({part.count})")


def show_priors() -> None:
    """Learned from one half of a writer's corrections, judged on the other's, for each prior; both halves in turn."""
    second = fresh()
    found = [list(corrections_of(half, second)) for half in halves(CHOSEN_ON)]
    print(f"{'prior':>6}{'begins: loss, right':>20}{'merging':>18}{'fault':>18}{'technique':>18}")
    for prior in (math.inf, *PRIORS):
        cells = []
        for name in (BEGINS, MERGING, "fault", "technique"):
            losses, right = [], []
            for learned_from, shown in (found, found[::-1]):
                change = None if prior == math.inf else part_of(name, learned_from, second, prior).fit()
                loss, good = part_of(name, shown, second, prior).told(change)
                losses += list(loss)
                right += list(good)
            cells.append(f"{np.mean(losses):>10.3f}{sum(right):>5}/{len(right)}")
        print(f"{prior:>6.0f}" + "".join(cells))


def corrections_of(reviews: Sequence[Gold], second: SecondReader) -> Iterator[Correction]:
    """What the coach corrects in reviews."""
    with tempfile.TemporaryDirectory() as folder:
        coach(Path(folder), reviews, second)
        with Archive(Path(folder)) as archive:
            for place, recording in enumerate(corrected(archive)):
                yield from corrections_in(archive, recording, place, lexicon.load(), second)[0]


def part_of(name: str, rows: Sequence[Correction], second: SecondReader, prior: float) -> refit.Corrections:
    """One part of what is learned, with another prior."""
    if name == BEGINS:
        return beginning(rows, prior)
    if name == MERGING:
        heard = [c for c in rows if c.features is not None]
        return presence(heard, [BIAS, *sorted(second.weights.features)], second.weights, prior)
    sort: Any = name
    return naming([c.named[sort] for c in rows if sort in c.named], second.ids[name], second.sharpness(sort), prior)


def show_idiom() -> None:
    """How often the idiom is read as its fault in talk not learned from, after ever more amendments beside the
    corrections of ordinary reviews."""
    second = fresh()
    vocabulary = lexicon.load()
    ordinary = halves(SHOWN_ON)[0]
    print(
        f"“{SAID[0]}” for {IDIOM}: of 10 other sentences\n{'corrected':>9}{'logged':>8}{'as it':>7}{'offered':>9}{'as it':>7}"
    )
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        coach(home, ordinary, second)
        known = 0
        for count in (0, 3, 5, 10):
            with Archive(home) as archive:
                for i in range(known, count):
                    amend_idiom(archive, vocabulary, second, f"idiom-{i}", SAID[i])
            known = count
            lesson, reader = taught(home, second)
            cells = []
            for part in (0, 1):
                found = [idiom_in(said, vocabulary, reader)[part] for said in SAID[10:]]
                cells += [sum(map(bool, found)), sum(IDIOM in ids for ids in found)]
            print(f"{count:>9}{cells[0]:>8}{cells[1]:>7}{cells[2]:>9}{cells[3]:>7}")
            print_lesson(lesson)


def amend_idiom(archive: Archive, vocabulary: lexicon.Lexicon, second: SecondReader, name: str, said: str) -> None:
    """Add a short review with the idiom, and amend what is read of it, or note it by hand where nothing is."""
    heard = idiom_talk(said)
    reading = read(heard, SHEET, vocabulary, f"{name}.vtt", name, second)
    archive.add(reading, SHEET, DAY, None, transcript_json(heard))
    notes = [o for o in (*reading.observations, *reading.perhaps) if said[:12] in o.quote and o.kind == "fault"]
    if notes:
        correct(archive, vocabulary, [notes[0].id], "amended", {"faults": (IDIOM,)})
        return
    line = heard.segments[1]
    values: dict[str, Any] = {
        "techniques": (), "faults": (IDIOM,), "fixes": (), "why": None, "unlisted": None, "start_ms": line.start_ms,
        "end_ms": line.end_ms, "footage_ms": None, "round": None, "again": False, "quote": said, "confidence": 1.0,
    }  # fmt: skip
    add_note(archive, vocabulary, name, Observation(athlete="Mara", role="athlete", kind="fault", **values))


def idiom_in(said: str, vocabulary: lexicon.Lexicon, reader: SecondReader) -> tuple[list[str], list[str]]:
    """As what faults a sentence with the idiom is logged, and offered."""
    review = read_review(idiom_talk(said), SHEET, vocabulary, reader)
    logged, offered = (
        [f for o in found if said[:12] in o.quote and o.kind == "fault" for f in o.faults]
        for found in (review.observations, review.perhaps)
    )
    return logged, offered


SHEET = Sheet.model_validate(
    {"sport": "kickboxing", "athletes": [{"name": "Mara", "stance": "orthodox"}], "opponent": {"name": "Devon"}}
)


def idiom_talk(said: str) -> Transcript:
    """A short talk with a sentence in its midst."""
    lines = [line.format(said) for line in AROUND]
    return Transcript(
        tuple(Segment(i * 6_000, i * 6_000 + 3_000, line) for i, line in enumerate(lines)), model="made up"
    )


def fresh() -> SecondReader:
    """The second reader as it comes."""
    second = second_reader(lexicon.load())
    if second is None:
        sys.exit("the second reader's weights are missing")
    return second


def main() -> None:
    """Print the tables."""
    if "--priors" in sys.argv[1:]:
        show_priors()
        return
    show_gain("a coach who judges every note", verdicts)
    show_gain("a coach who only strikes and amends", strikes_only)
    show_idiom()


if __name__ == "__main__":
    main()
