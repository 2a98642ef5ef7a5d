"""A critique as a paper: the sentences around the coach's own. A junior's is in simpler words and compares nothing."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from lexicon import Lexicon
from lexicon.entries import Drill
from notes.archive.entries import Kept
from notes.archive.moments import moments_of, told_again
from notes.counting import many
from notes.report.caution import CAUTION, SOURCE
from notes.report.critique import Critique, Point, Strength
from notes.report.document import (
    Block,
    Bullets,
    Document,
    Picture,
    Quote,
    Runs,
    Section,
    heading,
    labelled,
    paragraph,
    plain,
    run,
)
from notes.report.wording import (
    capital,
    day,
    days,
    distinct,
    key_of,
    moment,
    moments,
    name_of,
    spoken,
    times,
    vary,
)

NEEDS = {"alone": "on your own", "partner": "with a partner", "bag": "on the bag", "pads": "on the pads"}

_OPENINGS = (
    "These are the coach's words from the review, put in order: what to keep, then what to work on.",
    "This is what the coach said while watching, in short. Keep what works, and pick up the rest one at a time.",
    "Here is the review on paper: first what to keep, then what to work on next.",
)
_JUNIOR_OPENINGS = (
    "This is what the coach saw. First come the good things. Then come a few things to try.",
    "The coach watched you and talked. Here is what the coach said. The good things come first.",
)
_NO_CHANGE = "{} had enough notes to compare; none came less or more often by more than chance would do."
_CHANCE = "That is more than chance would do (p {p}, corrected for every fault that was looked at)."
_QUESTIONS = (
    "Which of these would you start with? Next time we look for one sign: {sign}.",
    "What do you want to try first? The sign that it works: {sign}.",
    "Where would you begin? We will know it is better when this is seen: {sign}.",
)


@dataclass(frozen=True, slots=True)
class Shown:
    """What is to be seen of the moments: pictures and names of clip files by the ids of notes; a plot of progress."""

    pictures: Mapping[str, Picture] = field(default_factory=dict)
    clips: Mapping[str, str] = field(default_factory=dict)
    plot: Picture | None = None


def critique_document(critique: Critique, lexicon: Lexicon, shown: Shown) -> Document:
    """The paper of a critique."""
    name, span = critique.athlete.name, days(critique.days)
    sections = [_opening(critique)]
    if critique.welfare:
        sections.append(_welfare(critique))
    if critique.strengths:
        sections.append(_went_well(critique, lexicon))
    if critique.progress.tested and not critique.athlete.junior:
        sections.append(_over_time(critique, lexicon, shown.plot))
    if critique.points:
        title = "Things to try" if critique.athlete.junior else "To work on"
        sections.append(Section("points", (heading(2, title),)))
    sections += [_point(point, critique, lexicon, shown) for point in critique.points]
    if critique.advice:
        quotes = tuple((run(f"“{spoken(k.observation.quote)}”"),) for k in critique.advice)
        sections.append(Section("advice", (heading(2, "Also worth trying"), Bullets(quotes)), _ids(critique.advice)))
    if critique.points:
        sections.append(_question(critique))
    return Document(
        title=plain(f"{name}: critique of {span}"), subject=f"critique of {name}, {span}", sections=tuple(sections)
    )


def drill_line(drill: Drill) -> str:
    """A drill in one sentence: what, how much, with what."""
    dose = f": {drill.dose}" if drill.dose else ""
    told = drill.do.lower()
    needs = "" if told.startswith(("partner", "bag", "pads")) or "partner" in told else f", {NEEDS[drill.needs]}"
    return f"{drill.do}{dose}{needs}."


def _opening(critique: Critique) -> Section:
    name = critique.athlete.name
    title = heading(1, f"{name}: critique of {days(critique.days)}")
    seed = (name, critique.days)
    if not critique.athlete.junior:
        return Section("opening", (title, paragraph(vary(_OPENINGS, seed))))
    to = paragraph(f"For {name}, and for a parent or guardian.")
    guardian = paragraph(
        "To the parent or guardian: please read this together. The drills need no contact. If you have a question,",
        f"or if {name} does not feel well, talk to the coach or to a qualified person.",
    )
    return Section("opening", (title, to, paragraph(vary(_JUNIOR_OPENINGS, seed)), guardian))


def _welfare(critique: Critique) -> Section:
    dated = len(critique.days) > 1
    said = Bullets(
        tuple((run(f"{_at(kept, dated=dated)}“{spoken(kept.observation.quote)}”"),) for kept in critique.welfare)
    )
    blocks = (heading(2, "First of all"), said, paragraph(f"{CAUTION} ({SOURCE})"))
    return Section("welfare", blocks, _ids(critique.welfare), look="caution")


def _went_well(critique: Critique, lexicon: Lexicon) -> Section:
    items = tuple(_strength(strength, critique, lexicon) for strength in critique.strengths)
    notes = tuple(kept for strength in critique.strengths for kept in strength.notes)
    title = "What you did well" if critique.athlete.junior else "What went well"
    return Section("strengths", (heading(2, title), Bullets(items)), _ids(notes))


def _strength(strength: Strength, critique: Critique, lexicon: Lexicon) -> Runs:
    quote = run(f"“{spoken(strength.quote.observation.quote)}”")
    where = moments([strength.quote, *(kept for kept in strength.notes if kept != strength.quote)], most=3)
    seen = run(f"({where})") if where else run("")
    if strength.technique is None:
        return (quote, seen)
    return (run(f"{capital(name_of(strength.technique, lexicon))}:", strong=True), quote, seen)


def _over_time(critique: Critique, lexicon: Lexicon, plot: Picture | None) -> Section:
    """What changed by more than chance, or that nothing did; nothing is claimed of faults with too few notes."""
    items = []
    for improvement in critique.improved:
        change = improvement.progress.change
        if change and change.p is not None:
            older, newer = (f"{r.count} in {critique.watched.told(r.exposure)}" for r in (change.older, change.newer))
            p = "< 0.001" if change.p < 0.001 else f"= {change.p:.3f}"
            told = f"{older} before, {newer} since. {_CHANCE.format(p=p)}"
            items.append(labelled(capital(name_of(improvement.key, lexicon)), told))
    said: Block = (
        Bullets(tuple(items)) if items else paragraph(_NO_CHANGE.format(many(critique.progress.tested, "fault")))
    )
    title = "Seen less often than before" if items else "Over the sessions"
    notes = tuple(kept for improvement in critique.improved for kept in improvement.notes)
    return Section("progress", (heading(2, title), said), _ids(notes), pictures=(plot,) if plot else ())


def _point(point: Point, critique: Critique, lexicon: Lexicon, shown: Shown) -> Section:
    junior, id_ = critique.athlete.junior, point.quote.observation.id
    rows = _junior_rows(point) if junior else _rows(point)
    if id_ in shown.clips:
        rows = (*rows, labelled("Clip", shown.clips[id_]))
    picture = shown.pictures.get(id_)
    blocks = (
        heading(3, _title(point, lexicon, junior=junior)),
        Quote((run(f"“{spoken(point.quote.observation.quote)}”"),)),
        *((Bullets(rows),) if rows else ()),
    )
    return Section(f"point-{key_of(point.key)}", blocks, _ids(point.notes), pictures=(picture,) if picture else ())


def _title(point: Point, lexicon: Lexicon, *, junior: bool) -> str:
    if point.entry is None:
        return "In the coach's words"
    if junior and point.entry.plain:
        return point.entry.plain.rstrip(".")
    on = f" ({name_of(point.technique, lexicon)})" if point.technique else ""
    return f"{capital(point.entry.label)}{on}"


def _rows(point: Point) -> tuple[Runs, ...]:
    rows = []
    where = moments(point.notes)
    seen = f"{times(distinct(point.notes))}{told_again(moments_of(point.notes))}{f': {where}' if where else ''}."
    if point.earlier:
        seen += f" Also seen in {many(len(point.earlier), 'earlier session')}, last on {day(point.earlier[-1])}."
    rows.append(labelled("Seen", seen))
    if point.why:
        why = f"“{spoken(point.why)}”" if point.coach_said_why else f"{capital(point.why)}."
        rows.append(labelled("Why", why))
    if instead := _instead(point):
        rows.append(labelled("Instead", instead))
    if point.drill:
        rows.append(labelled("Drill", drill_line(point.drill)))
    return tuple(rows)


def _junior_rows(point: Point) -> tuple[Runs, ...]:
    rows = []
    if where := moments(point.notes, most=2):
        rows.append(labelled("Watch", f"{where}."))
    if point.entry and point.entry.why:
        rows.append(labelled("Why", f"{capital(point.entry.why)}."))
    if instead := _instead(point):
        rows.append(labelled("Try this", instead))
    if point.drill:
        rows.append(labelled("Drill", drill_line(point.drill)))
    return tuple(rows)


def _instead(point: Point) -> str | None:
    """What to do: the fix, or the cue of a fault that no fix answers."""
    if point.fix:
        return point.fix.cue or f"{capital(point.fix.means)}."
    return point.entry.cue if point.entry else None


def _question(critique: Critique) -> Section:
    first = critique.points[0]
    sign = first.fix.sign if first.fix else None
    ask = "Which of these would you start with?"
    if critique.athlete.junior:
        text = f"Which one do you want to try first? This is how you can tell: {sign}." if sign else ask
    else:
        text = vary(_QUESTIONS, critique.athlete.name, critique.days).format(sign=sign) if sign else ask
    return Section("question", (heading(2, "A question for next time"), paragraph(text)), _ids(first.notes))


def _at(kept: Kept, *, dated: bool) -> str:
    where = moment(kept, dated=dated)
    return f"{capital(where)}: " if where else ""


def _ids(notes: tuple[Kept, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(kept.observation.id for kept in notes))
