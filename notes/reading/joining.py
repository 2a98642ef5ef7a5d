"""Remarks into drafts: fault, technique and fix joined over sentences by the reading guide's numbered rules."""

from collections.abc import Iterable

from lexicon import Lexicon
from notes.model import UNLISTED, Kind
from notes.reading.drafts import Draft, Evidence
from notes.reading.people import Person
from notes.reading.remarks import Mention, Remark
from notes.sheet import Sheet

# A fix within two sentences of its fault is joined to it (reading guide, rule 6).
_REACH = 2
_COMMON = frozenset(
    "again still same thing time once more another that there this with your from they them have been what when then"
    " just like come here into back hand head foot kick punch jab cross hook round left right down over same twice very"
    " where about which would could should after before only every even look know good".split()
)


class Joiner:
    """Walks the remarks, opens drafts and joins what belongs to them."""

    def __init__(self, lexicon: Lexicon, sheet: Sheet, remarks: list[Remark]):
        self.lexicon = lexicon
        self.remarks = remarks
        self.athletes = [Person(a.name, "athlete") for a in sheet.athletes]
        self.drafts: list[Draft] = []

    def read(self) -> list[Draft]:
        """All drafts, with fixes and techniques joined."""
        for place, remark in enumerate(self.remarks):
            self._welfare(place, remark)
            if remark.setting == "change":
                self._change(place, remark)
            elif remark.setting == "rule":
                self._advice(place, remark)
            elif remark.setting in ("seen", "demonstration"):
                if self._repeats(remark):
                    self._repeat(place, remark)
                    continue
                self._faults(place, remark)
                self._praise(place, remark)
        for place, remark in enumerate(self.remarks):
            if remark.setting == "seen":
                self._fixes(place, remark)
        for place, remark in enumerate(self.remarks):
            if remark.setting == "seen" and not self._taken(place):
                self._order(place, remark)
        for place, remark in enumerate(self.remarks):
            if remark.setting == "seen" and not self._taken(place):
                self._picture(place, remark)
        for draft in self.drafts:
            self._settle_by_fix(draft)
            draft.techniques = draft.techniques or self._techniques(draft)
        return sorted(self.drafts, key=lambda d: (d.first, d.token))

    def _taken(self, place: int) -> bool:
        return any(d.first <= place <= d.last and d.person.role == "athlete" for d in self.drafts)

    def _people(self, remark: Remark, person: Person) -> list[Person]:
        """Whom a remark is about: all athletes when it is said to all of them at once."""
        return self.athletes if remark.everyone and person.role == "athlete" else [person]

    def _welfare(self, place: int, remark: Remark) -> None:
        if remark.setting in ("past", "others", "denied", "question"):
            return
        for mention in remark.of_sort("welfare"):
            if mention.negated or mention.mood == "suppose" or mention.person.role == "coach":
                continue
            for person in self._people(remark, mention.person):
                if not any(d.kind == "welfare" and d.person == person and place - d.last <= 3 for d in self.drafts):
                    self._open(person, "welfare", place, mention.hit.first, "sign")

    def _change(self, place: int, remark: Remark) -> None:
        """A fault of earlier that is gone: a strength, of that sentence alone."""
        if any(s.person.role == "athlete" for s in remark.subjects):
            self._open(remark.focus, "strength", place, remark.sentence.first, "change")

    def _advice(self, place: int, remark: Remark) -> None:
        """A rule, homework or plan: advice to whom it is said, with the actions it tells."""
        wanted = [m for m in remark.mentions if m.entry.sort in ("technique", "fix") and m.person.role != "opponent"]
        told = remark.cues.has("order") or remark.addressed or remark.everyone
        if not wanted or not (told or any(m.entry.sort == "fix" for m in wanted)):
            return
        for person in self._people(remark, remark.focus):
            draft = self._open(person, "advice", place, remark.sentence.first, "rule")
            draft.fixes = list(dict.fromkeys(m.entry.id for m in wanted if m.entry.sort == "fix"))

    def _faults(self, place: int, remark: Remark) -> None:
        for mention in remark.of_sort("fault"):
            person = Person(mention.person.name, "coach") if remark.setting == "demonstration" else mention.person
            if mention.meaning == "fault":
                self._fault(place, remark, mention.hit.first, person, mention.entry.id, "name")
            elif mention.meaning == "strength" and person.role == "athlete":
                self._open(person, "strength", place, mention.hit.first, "denial")
        for mention in remark.of_sort("fix"):
            if mention.meaning == "lack" and remark.setting == "seen" and mention.person.role == "athlete":
                self._lack(place, remark, mention)

    def _lack(self, place: int, remark: Remark, mention: Mention) -> None:
        """A wanted action that did not happen: the fix of a fault just named, else a fault by itself."""
        fix = mention.entry.id
        named = [d for d in self.drafts if d.kind == "fault" and d.last == place and self._names(d, fix)]
        if named:
            named[-1].fixes = list(dict.fromkeys([*named[-1].fixes, fix]))
        else:
            fault = self._answered(place, mention)
            self._fault(place, remark, mention.hit.first, mention.person, fault, "lack", fix)

    def _fault(
        self,
        place: int,
        remark: Remark,
        token: int,
        person: Person,
        fault: str,
        evidence: Evidence,
        fix: str = "",
        first: int | None = None,
    ) -> None:
        for one in self._people(remark, person):
            same = [d for d in self.drafts if d.kind == "fault" and d.person == one and fault in d.faults]
            if same and place - same[-1].last <= 1 and not (remark.cues.has("again") and place > same[-1].last):
                same[-1].spread(place)
                continue
            draft = self._open(one, "fault", place, token, evidence)
            draft.first = place if first is None else first
            draft.faults = [fault]
            draft.fixes = [fix] if fix else []
            draft.again = remark.cues.has("again")

    def _answered(self, place: int, fix: Mention) -> str:
        """The fault that a fix answers, by the techniques named near; unlisted where the lexicon joins none with it."""
        usual = self._usual(fix.entry.id, max(0, place - 1), place)
        return (usual or [UNLISTED])[0]

    def _usual(self, fix: str, first: int, last: int) -> list[str]:
        """The faults that the lexicon joins with a fix, those first that are usual with a technique named in
        remarks first..last."""
        usual = list(self.lexicon.entries[fix].answers)
        usual += [e.id for e in self.lexicon.of_sort("fault") if fix in e.fixes[:1] and e.id not in usual]
        named = {m.entry.id for near in self.remarks[first : last + 1] for m in near.of_sort("technique")}
        return sorted(usual, key=lambda fault: not named & set(self.lexicon.entries[fault].techniques))

    def _settle_by_fix(self, draft: Draft) -> None:
        """What to do instead tells surest what was wrong: where no fix of a draft answers its fault, the fault that it
        does answer is meant."""
        if draft.kind != "fault" or not draft.fixes or any(self._names(draft, fix) for fix in draft.fixes):
            return
        meant = [fault for fix in draft.fixes for fault in self._usual(fix, draft.first, draft.last)]
        if meant:
            draft.faults = meant[:1]

    def _praise(self, place: int, remark: Remark) -> None:
        if not remark.cues.has("praise") or remark.setting != "seen":
            return
        start = remark.cues.spans["praise"][0][0]
        clause = remark.sentence.clause_of(start)
        if remark.cues.before("suppose", start, clause[0]):
            return
        if any(
            d.kind == "fault" and d.first <= place <= d.last and clause[0] <= d.token < clause[1] for d in self.drafts
        ):
            return
        person = self._praised(remark, clause)
        if person is None:
            return
        first = place
        if not self._acts(remark) and place and self._acts(self.remarks[place - 1]) and not self._taken(place - 1):
            before = self.remarks[place - 1]
            if before.setting == "seen" and not remark.opens_moment:
                first = place - 1
        if first == place and not self._acts(remark):
            return
        for one in self._people(remark, person):
            recent = [d for d in self.drafts if d.kind == "strength" and d.person == one and d.last >= place - 1]
            if recent and (recent[-1].token >= remark.sentence.first or not remark.of_sort("technique")):
                recent[-1].spread(place)
            else:
                self._open(one, "strength", place, start, "praise").first = first

    def _praised(self, remark: Remark, clause: tuple[int, int]) -> Person | None:
        """The athlete a praise is for; None when the clause's only actor is the opponent."""
        actors = [s.person for s in remark.subjects if clause[0] <= s.token < clause[1] and s.person.role != "coach"]
        athletes = [person for person in actors if person.role == "athlete"]
        if athletes:
            return athletes[0]
        others = [s.person for s in remark.subjects if s.person.role == "athlete"]
        return None if actors and not others else others[0] if others else remark.focus

    @staticmethod
    def _acts(remark: Remark) -> bool:
        """Whether a remark tells of an action of the athlete's."""
        return (
            bool(remark.of_sort("technique"))
            or any(s.person.role == "athlete" and not s.possessive for s in remark.subjects)
            or any(m.meaning == "strength" for m in remark.mentions)
        )

    def _repeats(self, remark: Remark) -> bool:
        """Whether a short remark only says that the last fault is there again."""
        cues = remark.cues
        if cues.has("again_only"):
            return True
        length = remark.sentence.last - remark.sentence.first
        return cues.has("again") and length <= 12 and not remark.of_sort("fault") and not cues.has("praise")

    def _repeat(self, place: int, remark: Remark) -> None:
        """ "Again." repeats the last fault (reading guide, rule 9), or the one whose picture it takes up again."""
        faults = [d for d in self.drafts if d.kind == "fault" and d.person.role == "athlete"]
        if not faults:
            return
        named = [s.person for s in remark.subjects if s.person.role == "athlete"]
        of_them = [d for d in faults if d.person in named] or faults
        said = self._telling(place)
        pictured = [d for d in of_them if any(said & self._telling(p) for p in range(d.first, d.last + 1))]
        last = (pictured or of_them)[-1]
        draft = self._open(last.person, "fault", place, remark.sentence.first, "repeat")
        draft.faults, draft.techniques, draft.again = list(last.faults), list(last.techniques), True

    def _telling(self, place: int) -> set[str]:
        """The uncommon words of a remark, by which a picture is known again."""
        return {word for word in self.remarks[place].lemmas if len(word) > 3 and word not in _COMMON}

    def _fixes(self, place: int, remark: Remark) -> None:
        for mention in remark.of_sort("fix"):
            fix = mention.entry.id
            if mention.negated or remark.cues.has("praise") or (mention.mood == "did" and _is_other(mention.person)):
                continue
            draft = self._answering(place, fix)
            if draft and (mention.meaning == "fix" or self._names(draft, fix)):
                if fix not in draft.fixes:
                    draft.fixes.append(fix)
                draft.spread(place)
            elif mention.meaning == "fix" and mention.mood != "suppose" and not draft and not self._taken(place):
                if self._uses_opening(place):
                    self._open(remark.focus, "advice", place, mention.hit.first, "opening").fixes = [fix]
                else:
                    first = place - 1 if self._describes(place - 1) else place
                    fault = self._answered(place, mention)
                    self._fault(place, remark, mention.hit.first, remark.focus, fault, "order", fix, first)

    def _uses_opening(self, place: int) -> bool:
        """Whether the remark before tells of an opponent's fault, so that an order now is to use it (rule 6)."""
        return any(
            d.person.role == "opponent" and d.kind == "fault" and d.first <= p <= d.last
            for p in (place, place - 1)
            for d in self.drafts
        )

    def _describes(self, place: int) -> bool:
        """Whether an order may answer the remark at a place: of the athlete, in view, logged as nothing yet."""
        if place < 0 or self._taken(place) or self.remarks[place + 1].opens_moment:
            return False
        remark = self.remarks[place]
        return remark.setting == "seen" and self._acts(remark) and not remark.cues.has("order")

    def _order(self, place: int, remark: Remark) -> None:
        """An order that no entry knows: it answers the fault just told, or it tells of one by itself (rule 9)."""
        if not remark.cues.has("order") or remark.cues.has("praise") or remark.cues.has("suppose"):
            return
        if any(s.person.role != "athlete" and not s.possessive for s in remark.subjects):
            return
        before = [
            d for d in self.drafts if d.kind == "fault" and d.person.role == "athlete" and 0 < place - d.last <= 1
        ]
        if before:
            before[-1].spread(place)
        elif self._uses_opening(place):
            self._open(remark.focus, "advice", place, remark.sentence.first, "opening")
        elif self._describes(place - 1):
            self._fault(place, remark, remark.sentence.first, remark.focus, UNLISTED, "unknown order", first=place - 1)

    def _picture(self, place: int, remark: Remark) -> None:
        """The athlete likened to something, without praise: a fault in the coach's words."""
        if not remark.cues.has("picture") or remark.cues.has("praise") or not remark.addressed:
            return
        if any(s.person.role == "coach" for s in remark.subjects):
            return
        self._fault(place, remark, remark.sentence.first, remark.focus, UNLISTED, "picture")

    def _answering(self, place: int, fix: str) -> Draft | None:
        """The fault that a fix answers: the nearest whose entry names it, else the nearest; before wins a tie."""
        near = [
            (not self._names(d, fix), d.first > place, max(d.first - place, place - d.last, 0), i)
            for i, d in enumerate(self.drafts)
            if d.kind == "fault" and d.person.role == "athlete" and d.first - _REACH <= place <= d.last + _REACH
        ]
        if not near:
            return None
        best = self.drafts[min(near)[3]]
        return best if self._names(best, fix) or not best.fixes else None

    def _names(self, draft: Draft, fix: str) -> bool:
        return any(f != UNLISTED and fix in self.lexicon.entries[f].fixes for f in draft.faults)

    def _techniques(self, draft: Draft) -> list[str]:
        """Techniques named as the person's own action in the draft's sentences; where those name none that tells
        much, those of the sentence before, about the same moment."""
        if draft.kind == "welfare":
            return []
        own = self._named(draft, self._telling_places(draft))
        strong = [t for t in own if not self.lexicon.entries[t].loose]
        if strong or draft.kind == "advice":
            return strong or own
        just_before = self._named(draft, range(max(0, draft.first - 1), draft.first))
        before = [t for t in just_before if not self.lexicon.entries[t].loose]
        return before or (own if draft.kind != "fault" else own[:1])

    def _telling_places(self, draft: Draft) -> list[int]:
        """The remarks of a draft that tell what was done; of a fault, not those that only order what to do instead."""
        places = list(range(draft.first, draft.last + 1))
        if draft.kind != "fault":
            return places
        told = [
            p
            for p in places
            if not self.remarks[p].cues.has("order")
            or self.remarks[p].sentence.first <= draft.token < self.remarks[p].sentence.last
        ]
        return told or places

    def _named(self, draft: Draft, places: Iterable[int]) -> list[str]:
        found = [
            m.entry.id
            for place in places
            for m in self.remarks[place].of_sort("technique")
            if m.person.role == draft.person.role and (draft.kind == "advice" or m.mood == "did") and not m.negated
        ]
        parents = {self.lexicon.entries[t].kind_of for t in found}
        return [t for t in dict.fromkeys(found) if t not in parents]

    def _open(self, person: Person, kind: Kind, place: int, token: int, evidence: Evidence) -> Draft:
        draft = Draft(person, kind, evidence, place, place, token)
        self.drafts.append(draft)
        return draft


def _is_other(person: Person) -> bool:
    return person.role != "athlete"
