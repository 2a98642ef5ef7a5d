"""One sentence at a time: what was found in it, of whom, and what it amounts to."""

from dataclasses import dataclass
from typing import Literal

from lexicon import Entry, Hit, Lexicon
from notes.reading.clock import spoken_clock
from notes.reading.grammar import Cues, Mood, predicate_clause, sense, sort_cues
from notes.reading.people import People, Person, Subject
from notes.reading.talk import Sentence, Talk
from notes.reading.worth import Meaning, meaning
from notes.sheet import Sheet

Setting = Literal["seen", "demonstration", "others", "past", "change", "rule", "denied", "question", "restatement"]


@dataclass(frozen=True, slots=True)
class Mention:
    """An entry found in a sentence, whose action it is, and what it amounts to."""

    hit: Hit
    entry: Entry
    person: Person
    clause: tuple[int, int]
    negated: bool
    mood: Mood
    meaning: Meaning


@dataclass(frozen=True, slots=True)
class Remark:
    """One sentence as read. `opens_moment`: a memo's spoken clock in it moves the talk to another moment."""

    sentence: Sentence
    cues: Cues
    subjects: tuple[Subject, ...]
    focus: Person
    everyone: bool
    setting: Setting
    mentions: tuple[Mention, ...]
    lemmas: tuple[str, ...]
    opens_moment: bool

    @property
    def addressed(self) -> bool:
        """Whether an athlete is spoken of in it."""
        return any(s.person.role == "athlete" for s in self.subjects)

    def of_sort(self, sort: str) -> list[Mention]:
        """Mentions of one sort, in order."""
        return [m for m in self.mentions if m.entry.sort == sort]


def read_remarks(talk: Talk, sheet: Sheet, lexicon: Lexicon) -> list[Remark]:
    """Every sentence of a talk as a remark, in order."""
    people = People(sheet, talk)
    remarks = []
    for sentence in talk.sentences:
        subjects = tuple(people.subjects(sentence))
        cues = sort_cues(lexicon.find_cues(talk.tokens, sentence.first, sentence.last))
        hits = lexicon.find_entries(talk.tokens, sentence.first, sentence.last, people.stance(), sheet.sport)
        found = [_mention(hit, lexicon, sentence, cues, subjects, people, talk) for hit in hits]
        mentions = tuple(m for m in found if not _inside_an_order(m, found) and not _outdone(m, found))
        remarks.append(
            Remark(
                sentence,
                cues,
                subjects,
                people.focus,
                people.everyone(sentence),
                _setting(sentence, cues, subjects, talk),
                mentions,
                talk.tokens.lemmas[sentence.first : sentence.last],
                sheet.narration == "memo"
                and spoken_clock(list(talk.tokens.forms[sentence.first : sentence.last])) is not None,
            )
        )
    return remarks


def _setting(sentence: Sentence, cues: Cues, subjects: tuple[Subject, ...], talk: Talk) -> Setting:
    """Whether a sentence speaks of what is in view, or of something a careless reader would take for it."""
    athlete_acts = any(s.person.role == "athlete" for s in subjects)
    if cues.has("demonstration") and not athlete_acts:
        return "demonstration"
    if cues.has("others") and not athlete_acts:
        return "others"
    if cues.has("past"):
        return "change" if cues.has("change") and athlete_acts else "past"
    if cues.has("denied"):
        return "denied"
    if cues.has("restatement") or _sums_up(sentence, talk):
        return "restatement"
    if cues.has("rule"):
        return "rule"
    if sentence.question and cues.has("question") and not cues.has("lack_question"):
        return "question"
    return "seen"


def _sums_up(sentence: Sentence, talk: Talk) -> bool:
    """Whether a sentence near the end only lists what was said: "So, hands, angle, hips." """
    near_end = sentence.index >= len(talk.sentences) * 0.85
    forms = talk.tokens.forms[sentence.first : sentence.last]
    return near_end and forms[0] in ("so", "right", "okay") and forms.count(",") >= 2


def _mention(
    hit: Hit,
    lexicon: Lexicon,
    sentence: Sentence,
    cues: Cues,
    subjects: tuple[Subject, ...],
    people: People,
    talk: Talk,
) -> Mention:
    entry = lexicon.entries[hit.id]
    clause = predicate_clause(hit, sentence, talk)
    how = sense(hit, sentence, cues, talk, named=entry.sort == "technique")
    worth: Meaning = "nothing"
    if entry.sort in ("fault", "fix"):
        approved = cues.has("praise") or cues.has("change")
        worth = meaning(
            "bad" if entry.sort == "fault" else "good",
            negated=how.negated or (how.stopped and entry.sort == "fault"),
            mood="order" if how.stopped else how.mood,
            approved=approved,
        )
    return Mention(hit, entry, _whose(hit, clause, sentence, subjects, people), clause, how.negated, how.mood, worth)


def _inside_an_order(mention: Mention, found: list[Mention]) -> bool:
    """Whether a bad action is read into the words of a good one that is ordered: "keep your back straight"."""
    return (
        mention.entry.sort == "fault"
        and not mention.negated
        and any(m.meaning == "fix" and m.hit.first < mention.hit.last and mention.hit.first < m.hit.last for m in found)
    )


def _outdone(mention: Mention, found: list[Mention]) -> bool:
    """Whether another fault of the same person is told at greater length in the same clause (reading guide, rule 3:
    a sentence that merely suggests a second fault, or one picture that lists its symptoms, is one)."""
    if mention.entry.sort != "fault":
        return False
    rivals = [
        m
        for m in found
        if m.entry.sort == "fault" and m.clause == mention.clause and m.person == mention.person and m is not mention
    ]
    return any(_telling(m) > _telling(mention) for m in rivals)


def _telling(mention: Mention) -> tuple[int, int, int]:
    """How much a find tells: by its length, then by how many words its pattern needs; the earlier first."""
    return mention.hit.last - mention.hit.first, mention.hit.needs, -mention.hit.first


def _whose(
    hit: Hit, clause: tuple[int, int], sentence: Sentence, subjects: tuple[Subject, ...], people: People
) -> Person:
    """Whose action a hit is: the owner of what it starts with ("his guard is low"), else the nearest subject of its
    clause, else of the sentence, else the athlete in focus. "You walk onto his hook" stays yours."""
    first = max(hit.first, clause[0])
    owner = [s for s in subjects if s.possessive and first - 2 <= s.token <= first]
    actors = [s for s in subjects if not s.possessive]
    inside = [s for s in actors if first <= s.token < hit.last]
    before = [s for s in actors if clause[0] <= s.token < first]
    after = [s for s in actors if hit.last <= s.token < clause[1] and s.token - hit.last <= 2]
    earlier = [s for s in actors if s.token < clause[0]]
    for found in (owner[-1:], before[-1:], inside[:1], after[:1], earlier[-1:]):
        if found:
            return found[0].person
    return people.focus
