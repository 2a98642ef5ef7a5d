"""Two readings of one talk made into one.

A draft of the first reader and a sentence in which the second hears the same kind of observation begin are one
candidate when they lie within a sentence of each other. A logistic model weighs what both say into one chance, which
is the observation's confidence. Where the second reader hears a beginning, it says where the observation goes on, and
its log chance of each id, plus a weight for each way in which the first reader names that id, decides which is taken.
What the first reader alone has found stays as it was read. All weights are learned (tests/training/merge.py) from
reviews that neither reader was fitted to.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from notes.model import Kind
from notes.reading.drafts import Draft
from notes.reading.people import Person
from notes.reading.remarks import Remark
from notes.reading.second.reader import KINDS, NO_TECHNIQUE, Judgement, SecondReader
from notes.reading.second.weights import Weights

# Below this chance the second reader says nothing by itself.
_FLOOR = 0.1
# The log chance of an id that the second reader has not learned.
_UNKNOWN = -6.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """What may be an observation of one kind: the first reader's draft, the sentence where the second hears it begin
    with its chance, or both. `crowded`: another draft stands for the same beginning already."""

    kind: Kind
    draft: Draft | None
    sentence: int | None
    chance: float
    crowded: bool = False


@dataclass(frozen=True, slots=True)
class Merger:
    """What both readers know of one talk."""

    reader: SecondReader
    judged: Judgement
    remarks: Sequence[Remark]
    athletes: tuple[Person, ...]
    weights: Weights

    def merge(self, drafts: Sequence[Draft]) -> list[Draft]:
        """Drafts of both readers with ids and confidence; those of opponent and coach as they are.

        Where a sign is logged that someone may be hurt, the same words are no fault.
        """
        merged = [d for d in drafts if d.person.role != "athlete"]
        for candidate in self.candidates(drafts):
            confidence = self.weights.chance(self.features(candidate))
            merged += [replace(draft, confidence=confidence) for draft in self.drafted(candidate)]
        signs = {d.first for d in merged if d.kind == "welfare" and self.logs(d)}
        kept = [d for d in merged if d.kind != "fault" or d.person.role != "athlete" or d.first not in signs]
        return self._said_on(sorted(kept, key=lambda d: (d.first, d.token)))

    def _said_on(self, drafts: Iterable[Draft]) -> list[Draft]:
        """Drafts with a fault that is told on in the next sentence made one, unless that tells of it as happening
        again, of another moment or of another technique."""
        told: list[Draft] = []
        for draft in drafts:
            place = next((i for i in reversed(range(len(told))) if self._goes_on_in(told[i], draft)), None)
            if place is None:
                told.append(draft)
                continue
            old = told[place]
            told[place] = replace(
                old,
                last=max(old.last, draft.last),
                techniques=old.techniques or draft.techniques,
                fixes=list(dict.fromkeys([*old.fixes, *draft.fixes])),
                confidence=max(old.confidence or 0, draft.confidence or 0),
            )
        return told

    def _goes_on_in(self, old: Draft, draft: Draft) -> bool:
        """Whether a draft tells on what one before it has told; one of them is logged."""
        return (
            draft.kind == old.kind == "fault"
            and draft.person.role == "athlete"
            and (draft.person, draft.faults) == (old.person, old.faults)
            and draft.first == old.last + 1
            and not draft.again
            and not self.remarks[draft.first].opens_moment
            and (not old.techniques or not draft.techniques or old.techniques == draft.techniques)
            and (self.logs(old) or self.logs(draft))
        )

    def logs(self, draft: Draft) -> bool:
        """Whether a merged draft is sure enough to be logged."""
        return (draft.confidence or 0) >= self.weights.logged_from(draft.kind)

    def candidates(self, drafts: Iterable[Draft]) -> list[Candidate]:
        """Everything that either reader says of the athletes."""
        found: list[Candidate] = []
        for k, kind in enumerate(KINDS):
            chances = self.judged.begins[:, k]
            begins = self._beginnings(chances)
            taken: set[int] = set()
            for draft in drafts:
                if draft.kind != kind or draft.person.role != "athlete":
                    continue
                near = [i for i in begins if draft.first - 1 <= i <= draft.last + 1]
                free = [i for i in near if i not in taken]
                if free:
                    best = max(free, key=lambda i: (draft.first <= i <= draft.last, chances[i]))
                    taken.add(best)
                    found.append(Candidate(kind, draft, best, float(chances[best])))
                else:
                    chance = float(chances[draft.first : draft.last + 1].max())
                    found.append(Candidate(kind, draft, None, chance, crowded=bool(near)))
            found += [Candidate(kind, None, i, float(chances[i])) for i in begins if i not in taken]
        return found

    def _beginnings(self, chances: np.ndarray) -> list[int]:
        """Sentences where an observation of a kind may begin; of those at one time, as in a cue, the likeliest."""
        best: dict[int, int] = {}
        for i, chance in enumerate(chances):
            start = self.remarks[i].sentence.start_ms
            if chance >= _FLOOR and (start not in best or chance > chances[best[start]]):
                best[start] = i
        return sorted(best.values())

    def features(self, candidate: Candidate) -> dict[str, float]:
        """What the weights are for, by name."""
        chance = min(max(candidate.chance, 1e-3), 1 - 1e-3)
        heard = "both" if candidate.draft and candidate.sentence is not None else "alone"
        found = {
            f"second {heard} {candidate.kind}": float(np.log(chance / (1 - chance))),
            f"kind {candidate.kind}": 1.0,
        }
        if candidate.draft is None:
            return found | {"second alone": 1.0}
        found[f"first by {candidate.draft.evidence}"] = 1.0
        if candidate.draft.kind == "fault":
            known = self.reader.ids["fault"]
            at = candidate.draft.first if candidate.sentence is None else candidate.sentence
            told = [float(np.exp(self.judged.faults[at, known.index(f)])) for f in candidate.draft.faults if f in known]
            found["same fault"] = max(told, default=0.0)
        if candidate.sentence is None:
            found["crowded" if candidate.crowded else "first alone"] = 1.0
        return found

    def drafted(self, candidate: Candidate) -> list[Draft]:
        """A candidate as one draft for each athlete whom it is about."""
        at, old = candidate.sentence, candidate.draft
        if at is None:
            return [old] if old else []
        last = self._last(candidate, at)
        remark = self.remarks[at]
        draft = Draft(self.athletes[0], candidate.kind, "judged", at, last, remark.sentence.first)
        if old and at <= old.last and old.first <= last:
            draft.evidence, draft.token = old.evidence, max(old.token, draft.token)
        if candidate.kind != "welfare":
            best = _best(self.technique_scores(candidate, at))
            draft.techniques = [] if best == NO_TECHNIQUE else [best]
        if candidate.kind == "fault":
            draft.faults = [_best(self.fault_scores(candidate, at))]
            draft.again = bool(self.judged.again[at] > 0.5)
        if candidate.kind in ("fault", "advice"):
            draft.fixes = self._fixes(candidate, at)
        return [replace(draft, person=person) for person in self._people(remark)]

    def _last(self, candidate: Candidate, at: int) -> int:
        """The last sentence of a candidate that begins in sentence `at`."""
        k, last = KINDS.index(candidate.kind), at
        while last + 1 < len(self.remarks) and self._goes_on(last + 1, k, candidate.draft):
            last += 1
        return last

    def _goes_on(self, place: int, k: int, old: Draft | None) -> bool:
        """Whether a sentence belongs to the observation before it: the second reader says so, or the first has joined
        it to that and the second hears nothing else begin."""
        if self.judged.goes_on[place, k] > 0.5 > self.judged.begins[place, k]:
            return True
        return old is not None and place <= old.last and float(self.judged.begins[place].max()) < _FLOOR

    def _people(self, remark: Remark) -> tuple[Person, ...]:
        """Whom a remark is about: all athletes at once, who is named or addressed, else who is in focus."""
        if remark.everyone:
            return self.athletes
        told = [s.person for s in remark.subjects if s.person.role == "athlete"]
        return (told[0] if told else remark.focus,)

    def heard_at(self, candidate: Candidate) -> int:
        """Where the second reader hears a candidate begin; the likeliest sentence of a draft where it does not."""
        if candidate.sentence is not None or candidate.draft is None:
            return candidate.sentence or 0
        chances = self.judged.begins[candidate.draft.first : candidate.draft.last + 1, KINDS.index(candidate.kind)]
        return candidate.draft.first + int(chances.argmax())

    def passed_over(self, kind: Kind, start_ms: int) -> Candidate:
        """What a person has heard begin at a time, and neither reader."""
        ends = [i for i, remark in enumerate(self.remarks) if remark.sentence.end_ms > start_ms]
        at = ends[0] if ends else len(self.remarks) - 1
        return Candidate(kind, None, at, float(self.judged.begins[at, KINDS.index(kind)]))

    def fault_scores(self, candidate: Candidate, at: int) -> dict[str, float]:
        """What speaks for each fault of a candidate that begins in sentence `at`; the highest is taken."""
        score = dict(zip(self.reader.ids["fault"], map(float, self.judged.faults[at]), strict=True))
        if candidate.draft:
            self._add(score, candidate.draft.faults, "fault drafted")
        for remark in self.remarks[at : self._last(candidate, at) + 1]:
            self._add(score, [m.entry.id for m in remark.of_sort("fault") if m.meaning == "fault"], "fault mentioned")
        return score

    def technique_scores(self, candidate: Candidate, at: int) -> dict[str, float]:
        """What speaks for each technique, "none" among them."""
        told = self.judged.techniques[at, KINDS.index(candidate.kind)]
        score = dict(zip(self.reader.ids["technique"], map(float, told), strict=True))
        if candidate.draft:
            self._add(score, candidate.draft.techniques, "technique drafted")
        self._add(score, [m.entry.id for m in self.remarks[at].of_sort("technique")], "technique mentioned")
        return score

    def _fixes(self, candidate: Candidate, at: int) -> list[str]:
        chance = np.clip(self.judged.fixes[at, 0 if candidate.kind == "fault" else 1], 1e-6, 1 - 1e-6)
        score = dict(zip(self.reader.ids["fix"], map(float, np.log(chance / (1 - chance))), strict=True))
        if candidate.draft:
            self._add(score, candidate.draft.fixes, "fix drafted")
        wanted = [fix for fix in score if score[fix] > self.weights.named["fix least"]]
        return sorted(wanted, key=lambda fix: (-score[fix], fix))

    def _add(self, score: dict[str, float], ids: Iterable[str], way: str) -> None:
        for name in dict.fromkeys(ids):
            score[name] = score.get(name, _UNKNOWN) + self.weights.named[way]


def _best(score: dict[str, float]) -> str:
    return max(score, key=lambda name: (score[name], name))
