"""How words sound, in ARPAbet without stress, and how alike two sounds are.

Ordinary words are looked up in the CMU Pronouncing Dictionary (`data/`, BSD-2-Clause), words of the trade that it lacks
in the lexicon's hand-checked list. For any other word a few letter-to-sound rules must do: what they are used for is
a recogniser's spelling of a word that it does not know, which follows the sound closely.
"""

import gzip
import re
from collections.abc import Iterator, Mapping
from functools import cache, lru_cache
from importlib.resources import files

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from lexicon.errors import LexiconError
from lexicon.yaml_files import read_yaml

Sound = tuple[str, ...]

# The longest rule that fits is taken; "$" is the end of the word.
_RULES: dict[str, str] = dict(
    part.split("=")
    for part in (
        "tch=CH ch=CH sh=SH th=TH ph=F wh=W ck=K qu=K,W ng=NG kn=N wr=R gh= dge=JH sch=S,K "
        "ee=IY ea=IY ie=IY ei=IY oo=UW ou=AW ow=OW oa=OW oi=OY oy=OY ai=EY ay=EY ey=IY au=AO aw=AO ew=UW ue=UW ui=UW "
        "ar=AA,R er=ER ir=ER or=AO,R ur=ER air=EH,R ear=IH,R igh=AY ie$=IY e$= es$=Z ed$=D le$=AH,L y$=IY "
        "a=AE b=B c=K d=D e=EH f=F g=G h=HH i=IH j=JH k=K l=L m=M n=N o=AA p=P q=K r=R s=S t=T u=AH v=V w=W x=K,S "
        "y=Y z=Z ce=S ci=S,IH cy=S,IY ge=JH o$=OW a$=AH i$=IY u$=UW bb=B cc=K dd=D ff=F gg=G ll=L mm=M nn=N pp=P rr=R "
        "ss=S tt=T zz=Z"
    ).split()
)
_LONG = {"a": "EY", "e": "IY", "i": "AY", "o": "OW", "u": "UW"}
_LONGEST = max(map(len, _RULES))
_VOWELS = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())

# Sounds that recognisers take for one another: half the cost of any other exchange.
_NEAR = frozenset(
    frozenset(pair.split("-"))
    for pair in (
        "P-B T-D K-G F-V S-Z SH-ZH CH-JH TH-DH M-N N-NG TH-F L-R IY-IH IH-EH EH-AE AE-AH AA-AH AA-AO AO-AH UH-UW UH-AH"
        " EY-EH OW-AO OW-AH ER-AH ER-R AA-AE IH-AH EH-AH IY-EY AY-AH T-CH S-SH"
    ).split()
)


@cache
def _dictionary() -> dict[str, str]:
    data = (files("notes.speech") / "data" / "cmudict.gz").read_bytes()
    return dict(line.split(" ", 1) for line in gzip.decompress(data).decode("utf-8").splitlines())


@cache
def _trade() -> dict[str, str]:
    text = (files("lexicon") / "data" / "sounds.yaml").read_text(encoding="utf-8")
    return dict(read_yaml(text, "sounds.yaml", LexiconError).data)


def is_ordinary(word: str) -> bool:
    """Whether a word stands in the dictionary of English sounds."""
    return word in _dictionary()


@lru_cache(maxsize=20_000)
def sound_of(text: str) -> Sound:
    """The sounds of a word or phrase in small letters.

    >>> sound_of("low teap")
    ('L', 'OW', 'T', 'IY', 'P')
    """
    found: list[str] = []
    for word in re.findall(r"[a-z']+", text):
        known = _known(word) or _of_two(word)
        found += known.split() if known else _by_letters(word.replace("'", ""))
    return tuple(found)


def _known(word: str) -> str | None:
    return _trade().get(word) or _dictionary().get(word)


def _of_two(word: str) -> str | None:
    """The sound of two words written as one."""
    halves = ((_known(word[:i]), _known(word[i:])) for i in range(3, len(word) - 2))
    return next((f"{one} {two}" for one, two in halves if one and two), None)


def _by_letters(word: str) -> list[str]:
    found: list[str] = []
    at = 0
    while at < len(word):
        if re.fullmatch(r"[aeiou][bcdfgklmnprstvz]e", word[at:]):  # a final silent e makes the vowel long
            found.append(_LONG[word[at]])
            at += 1
            continue
        for size in range(min(_LONGEST, len(word) - at), 0, -1):
            part = word[at : at + size]
            whole = f"{part}$" if at + size == len(word) and at else part
            rule = _RULES.get(whole, _RULES.get(part))
            if rule is not None:
                found += [sound for sound in rule.split(",") if sound]
                at += size
                break
        else:
            at += 1
    return found


# One letter for all sounds that are near one another: a quick look before the exact likeness.
_COARSE = {
    sound: letter
    for letter, sounds in zip(
        "ptkfsmlwyh",
        ("P B", "T D", "K G", "F V TH DH", "S Z SH ZH CH JH", "M N NG", "L R", "W", "Y", "HH"),
        strict=True,
    )
    for sound in sounds.split()
}


@lru_cache(maxsize=20_000)
def coarse(sound: Sound) -> str:
    """The sound in few letters, every vowel as "a": sounds that are alike are alike in this form too."""
    return "".join(_COARSE.get(one, "a") for one in sound)


def near(sound: Sound, others: Mapping[str, Sound], least: float) -> Iterator[tuple[str, float]]:
    """Those of `others` whose likeness to a sound is `least` or more, with it."""
    shapes = {spelt: coarse(other) for spelt, other in others.items()}
    found = process.extract(
        coarse(sound), shapes, scorer=Levenshtein.normalized_similarity, score_cutoff=least - _SLACK, limit=5
    )
    for _, _, spelt in found:
        if (alike := likeness(sound, others[spelt])) >= least:
            yield spelt, alike


_SLACK = 0.05  # the coarse form puts ER and R apart


def likeness(one: Sound, other: Sound) -> float:
    """How alike two sounds are, 0 to 1: one less the weighted edit distance over the longer's length.

    Exchanging near sounds costs .5, a vowel for a consonant 1.5, anything else 1 (from memory: weights of this kind are
    usual; these were set on the development half of the hearing benchmark).
    """
    longest = max(len(one), len(other))
    if not longest:
        return 0.0
    if abs(len(one) - len(other)) > longest / 2:
        return 0.0
    row = [float(j) for j in range(len(other) + 1)]
    for i, a in enumerate(one, 1):
        before, row[0] = row[0], float(i)
        for j, b in enumerate(other, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + _exchange(a, b))
    return 1 - row[-1] / longest


def _exchange(a: str, b: str) -> float:
    if a == b:
        return 0.0
    if frozenset((a, b)) in _NEAR:
        return 0.5
    return 1.0 if (a in _VOWELS) == (b in _VOWELS) else 1.5
