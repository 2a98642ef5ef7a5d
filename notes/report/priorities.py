"""Which faults to speak of: a stated rule, so that a coach can foresee and overrule it.

1. Safety first: a fault that leaves the head, the neck or a partner open to harm (`safety` in the lexicon) goes before
   the others if it was seen more than once, in this span or from earlier, or if the coach said what it led to.
2. Then by weight: one for each time it was seen in the span (at most four), one for each earlier session in which
   it was seen (at most two), one where the coach called it a repeat, one where the coach gave the reason.
3. Among equals: safety, then a fault that the lexicon knows, then the one spoken of first.
4. Of faults with the same usual fix only the first is taken, as long as others are left: three points, not one thrice.

That safety goes first and the weights are common practice, no source. At most three: about four things are held at
once (Cowan 2001, Behav Brain Sci 24:87; from memory), and more correction on a day goes with a lower sense of
competence (Carpentier & Mageau, diary study, Psychol Sport Exerc; abstract read).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from lexicon import Entry, Lexicon
from notes.archive.entries import Kept
from notes.archive.log import LogLine, fault_log
from notes.model import UNLISTED

MOST_PRIORITIES = 3


@dataclass(frozen=True, slots=True)
class Priority:
    """A fault that was chosen: what was seen of it in the span, and on which earlier days."""

    line: LogLine
    earlier: tuple[date, ...]
    entry: Entry | None
    fix: Entry | None


def choose_priorities(
    notes: Sequence[Kept], earlier: Sequence[Kept], lexicon: Lexicon, most: int = MOST_PRIORITIES
) -> tuple[Priority, ...]:
    """The faults to speak of, the first one first; `notes` are those of the span, `earlier` those before it."""
    found = [_priority(line, earlier, lexicon) for line in fault_log(list(notes)) if line.kind == "fault"]
    found.sort(key=_rank)
    chosen: list[Priority] = []
    spare: list[Priority] = []
    for priority in found:
        same = priority.fix and any(priority.fix == other.fix for other in chosen)
        (spare if same else chosen).append(priority)
    return tuple((chosen + spare)[:most])


def _priority(line: LogLine, earlier: Sequence[Kept], lexicon: Lexicon) -> Priority:
    entry = lexicon.entries.get(line.key)
    given = [f for f in line.fixes if f in lexicon.entries]
    # What to do about a fault that has a cue of its own is told by that, unless the coach gave a fix.
    usual = list(entry.fixes) if entry and not entry.cue else []
    fitting = [f for f in given if f in usual] or usual or given
    return Priority(
        line=line,
        earlier=tuple(sorted({kept.seen_on for kept in earlier if line.key in kept.observation.faults})),
        entry=entry,
        fix=lexicon.entries[fitting[0]] if fitting else None,
    )


def _rank(priority: Priority) -> tuple[bool, int, bool, bool, date, int]:
    line = priority.line
    reasoned = any(kept.observation.why for kept in line.notes)
    repeated = any(kept.observation.again for kept in line.notes)
    safety = bool(priority.entry and priority.entry.safety)
    urgent = safety and (line.times > 1 or bool(priority.earlier) or repeated or reasoned)
    weight = min(line.times, 4) + min(len(priority.earlier), 2) + repeated + reasoned
    first = line.notes[0]
    return (
        not urgent,
        -weight,
        not safety,
        line.key.startswith(UNLISTED),
        first.day,
        first.observation.start_ms,
    )
