"""Why a sentence was read as it was, from the very objects that a reading makes."""

from lexicon import Lexicon, NearMiss, near_misses
from lexicon.patterns import Stance
from notes.model import Segment, Transcript
from notes.reading.observations import read_observations
from notes.reading.remarks import Mention, read_remarks
from notes.reading.talk import Talk, read_talk
from notes.sheet import Sheet


def explain(text: str, stance: Stance, lexicon: Lexicon) -> list[str]:
    """What matched in each sentence, of whom, in what mood, what it amounts to, and what nearly matched."""
    sheet = Sheet.model_validate({"sport": "mma", "athletes": [{"name": "the athlete", "stance": stance}]})
    transcript = Transcript((Segment(0, 1000, text),), model="text")
    talk = read_talk(transcript, lexicon)
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
    for o in read_observations(transcript, sheet, lexicon):
        what = ", ".join((*o.faults, *o.techniques)) or "no id"
        fixes = f"; fix {', '.join(o.fixes)}" if o.fixes else ""
        lines.append(f"logged: {o.kind} of {o.athlete} ({o.role}): {what}{fixes}")
    return lines


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
