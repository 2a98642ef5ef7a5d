"""Whose action it is: an athlete of the sheet, the opponent or the coach."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Literal

from rapidfuzz import fuzz

from lexicon.tokens import Tokens, is_known
from notes.model import Role
from notes.reading.talk import Sentence, Talk
from notes.sheet import Sheet

Grammar = Literal["you", "third", "first", "all", "name"]
_PRONOUNS: dict[str, Grammar] = {
    "you": "you", "ye": "you", "ya": "you", "u": "you", "your": "you", "yer": "you", "yours": "you", "yourself": "you",
    "he": "third", "she": "third", "they": "third", "his": "third", "her": "third", "their": "third", "him": "third",
    "them": "third", "hers": "third",
    "i": "first", "me": "first", "my": "first", "mine": "first", "myself": "first",
}  # fmt: skip
# Coaches who talk to the athlete say "you" at least about as often as "he" or "she" of anyone; those who talk about
# them far less (40 reviews: .9 and more against .8 and less).
_ADDRESSED = 0.85
_COMMENTING = frozenset(
    "see want like love think need mean say know wonder hate count hear watch believe hope wish adore prefer"
    " guess".split()
)
_OBJECTS = frozenset({"him", "them", "me"})
_OTHER_NAMES = frozenset("opponent guy bloke lad fella geezer".split())
_BOTH = (
    ("both", "of", "you"),
    ("the", "pair", "of", "you"),
    ("you", "two"),
    ("the", "two", "of", "you"),
    ("you", "both"),
)


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody in the review, and the part they play in it."""

    name: str
    role: Role


@dataclass(frozen=True, slots=True)
class Subject:
    """A word that says whose action is meant: a name or a pronoun at one token."""

    token: int
    person: Person
    possessive: bool = False


@dataclass
class People:
    """Resolves names and pronouns as the talk goes on; `focus` is the athlete under review at the moment."""

    sheet: Sheet
    talk: Talk
    focus: Person = field(init=False)
    _named: dict[int, Person] = field(init=False)
    _addressed: bool = field(init=False)

    def __post_init__(self) -> None:
        self.athletes = [Person(a.name, "athlete") for a in self.sheet.athletes]
        self.coach = Person(self.sheet.coach.name if self.sheet.coach else "coach", "coach")
        self.opponent = Person(self.sheet.opponent.name if self.sheet.opponent else "opponent", "opponent")
        self.focus = self.athletes[0]
        self._named = _find_names(self.sheet, self.talk.tokens, self.athletes, self.opponent)
        forms = self.talk.tokens.forms
        said = Counter(_PRONOUNS.get(form) for form in forms)
        self._addressed = said["you"] >= _ADDRESSED * said["third"]

    def stance(self) -> Literal["orthodox", "southpaw"] | None:
        """The stance of the athlete in focus."""
        return next(a.stance for a in self.sheet.athletes if a.name == self.focus.name)

    def everyone(self, sentence: Sentence) -> bool:
        """Whether a sentence is said to all athletes at once."""
        forms = self.talk.tokens.forms[sentence.first : sentence.last]
        return len(self.athletes) > 1 and any(
            forms[i : i + len(words)] == words for words in _BOTH for i in range(len(forms))
        )

    def subjects(self, sentence: Sentence) -> list[Subject]:
        """Every name and pronoun of a sentence with the person it stands for. Moves the focus along."""
        found: list[Subject] = []
        named: Person | None = None
        forms = self.talk.tokens.forms
        if called := self._called(sentence):
            self.focus = called
        for i in range(sentence.first, sentence.last):
            after = forms[i + 1] if i + 1 < sentence.last else ""
            if person := self._named.get(i):
                if person.role == "athlete":
                    self.focus = person
                named = person
                found.append(Subject(i, person, possessive=after in ("'s", "'")))
            elif grammar := _PRONOUNS.get(forms[i]):
                if forms[i] in _OBJECTS or (grammar == "first" and self._only_comments(i, sentence.last)):
                    continue
                person = self._stands_for(grammar, named)
                found.append(Subject(i, person, possessive=forms[i] in ("your", "yer", "his", "her", "my", "their")))
        return found

    def _only_comments(self, i: int, last: int) -> bool:
        """Whether the coach at token i only sees, wants or judges, so that the action told is somebody else's."""
        return bool(_COMMENTING & set(self.talk.tokens.lemmas[i + 1 : min(i + 4, last)]))

    def _called(self, sentence: Sentence) -> Person | None:
        """The first athlete whose name stands between marks: "you" is them, also before their name."""
        forms = ("", *self.talk.tokens.forms[sentence.first : sentence.last], "")
        for place, (before, _, after) in enumerate(zip(forms, forms[1:], forms[2:], strict=False), sentence.first):
            person = self._named.get(place)
            if person and person.role == "athlete" and not f"{before}{after}".strip(",.!?"):
                return person
        return None

    def _stands_for(self, grammar: Grammar, named: Person | None) -> Person:
        """Whom a pronoun means: "he" is who was named before it in the sentence; else the other person where the
        coach talks to the athlete, and the athlete where the coach talks about them."""
        if grammar == "first":
            return self.coach
        if grammar == "you":
            return self.focus
        if named and (not self._addressed or named.role == "opponent"):
            return named
        if not self._addressed:
            return self.focus
        if len(self.athletes) > 1 and not self.sheet.opponent:
            return next(a for a in self.athletes if a != self.focus)
        return self.opponent


def _find_names(sheet: Sheet, tokens: Tokens, athletes: list[Person], opponent: Person) -> dict[int, Person]:
    """The person named at each token; near spellings count where the word is no English word."""
    names: dict[tuple[str, ...], Person] = {}
    for athlete, person in zip(sheet.athletes, athletes, strict=True):
        names |= {tuple(n.lower().split()): person for n in athlete.names}
    if sheet.opponent:
        names |= {tuple(n.lower().split()): opponent for n in sheet.opponent.names}
    found: dict[int, Person] = {}
    for i, form in enumerate(tokens.forms):
        for words, person in names.items():
            if tokens.forms[i : i + len(words)] == words:
                found[i] = person
        if i in found or len(form) < 4 or is_known(form):
            continue
        near = [p for words, p in names.items() if len(words) == 1 and fuzz.ratio(words[0], form) >= 80]
        if near:
            found[i] = near[0]
    for i, form in enumerate(tokens.forms):
        if form in _OTHER_NAMES and i and tokens.forms[i - 1] in ("your", "the", "other", "this"):
            found.setdefault(i, opponent)
    return found
