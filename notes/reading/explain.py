"""Why a sentence was read as it was, from the very objects that a reading makes."""

from collections.abc import Iterator

import numpy as np

from lexicon import Lexicon, NearMiss, near_misses
from lexicon.patterns import Stance
from notes.model import Segment, Transcript
from notes.reading.observations import read_review
from notes.reading.remarks import Mention, read_remarks
from notes.reading.second.corpus import nearest
from notes.reading.second.reader import KINDS, Judgement, SecondReader
from notes.reading.talk import Talk, read_talk
from notes.sheet import Sheet

# A kind less likely than this is not told of; and an id.
_TOLD = 0.2
_TOLD_ID = 0.1


def explain(text: str, stance: Stance, lexicon: Lexicon, second: SecondReader | None) -> list[str]:
    """What matched in each sentence, of whom, in what mood, what it amounts to, what nearly matched; what the second
    reader makes of it, with the corpus sentences that speak for that; and what comes of both."""
    sheet = Sheet.model_validate({"sport": "mma", "athletes": [{"name": "the athlete", "stance": stance}]})
    transcript = Transcript((Segment(0, 1000, text),), model="text")
    talk = read_talk(transcript, lexicon)
    judged = second.judge(talk, sheet) if second and talk.sentences else None
    lines: list[str] = []
    for remark in read_remarks(talk, sheet, lexicon):
        sentence = remark.sentence
        lines.append(f"sentence: {talk.quote(sentence, sentence)}")
        if remark.setting != "seen":
            lines.append(f"  setting: {remark.setting}")
        for sort, found in sorted(remark.cues.spans.items()):
            lines += [f"  cue {sort}: “{_words(talk, a, b)}”" for a, b in found]
        lines += [f"  {_mention(mention, talk)}" for mention in remark.mentions]
        if not remark.mentions:
            lines.append("  no entry of the vocabulary matched")
        known = {mention.entry.id for mention in remark.mentions}
        nearly = near_misses(lexicon, talk.tokens, sentence.first, sentence.last, known, stance)
        lines += [f"  nearly {_miss(miss)}" for miss in nearly]
        if second and judged:
            lines += _second(second, judged, sentence.index)
    review = read_review(transcript, sheet, lexicon, second)
    for how, told in (("logged", review.observations), ("perhaps", review.perhaps)):
        for o in told:
            what = ", ".join((*o.faults, *o.techniques)) or "no id"
            fixes = f"; fix {', '.join(o.fixes)}" if o.fixes else ""
            lines.append(f"{how}: {o.kind} of {o.athlete} ({o.role}): {what}{fixes}; confidence {o.confidence:.2f}")
    return lines


def _second(second: SecondReader, judged: Judgement, i: int) -> Iterator[str]:
    """The second reader's part: each likely kind with its ids and the nearest marked sentences."""
    told = [k for k in range(len(KINDS)) if judged.begins[i, k] >= _TOLD]
    if not told:
        yield f"  second reader: nothing begins here (at most {judged.begins[i].max():.2f})"
    for k in told:
        kind = KINDS[k]
        ids = _likely(second.ids["technique"], judged.techniques[i, k])
        if kind == "fault":
            ids = _likely(second.ids["fault"], judged.faults[i]) + ids
        yield f"  second reader: {kind} {judged.begins[i, k]:.2f}{': ' if ids else ''}{', '.join(ids)}"
        for known in nearest(kind, judged.about(i, k)):
            yield f"    like “{known.text}” ({known.label}; {known.likeness:.2f})"


def _likely(ids: tuple[str, ...], log_chances: np.ndarray) -> list[str]:
    chances = np.exp(log_chances)
    order = np.argsort(-chances)[:3]
    return [f"{ids[j]} {chances[j]:.2f}" for j in order if chances[j] >= _TOLD_ID]


def _miss(miss: NearMiss) -> str:
    why = {
        "order": "its words are there, in another order or too far apart",
        "vetoed": "an `unless` of the entry, or a longer find, stands in its way",
        "lacks": f"it lacks {' or '.join(miss.lacking)}",
    }
    return f"{miss.id} by “{miss.pattern}”: {why[miss.failure]}"


def _mention(mention: Mention, talk: Talk) -> str:
    hit = mention.hit
    respelt = ", respelt" if any(hit.first <= i < hit.last for i in talk.near) else ""
    denied = ", denied" if mention.negated else ""
    return (
        f"{mention.entry.sort} {hit.id}: “{_words(talk, hit.first, hit.last)}” by “{hit.pattern}”{respelt}; "
        f"of {mention.person.name} ({mention.person.role}); {mention.mood}{denied}; amounts to {mention.meaning}"
    )


def _words(talk: Talk, first: int, last: int) -> str:
    return talk.text[talk.tokens.starts[first] : talk.tokens.ends[last - 1]]
