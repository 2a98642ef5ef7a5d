"""`tapeside reread`"""

from dataclasses import replace
from typing import Any

import click

from lexicon.misheard import Mishearing
from notes.archive.archive import Archive
from notes.archive.difference import Difference, changed_fields, difference
from notes.archive.entries import entries_now, newest_reading
from notes.archive.recordings import Recording
from notes.commands.common import first_only_option, home_of, load_second_reader, progress_bar
from notes.counting import many
from notes.errors import TapesideError
from notes.extract import read
from notes.intake import club_mishearings, load_lexicon
from notes.model import Observation, Reading, Transcript
from notes.speech.repair import heard_by_club
from notes.speech.transcripts import parse_transcript, transcript_json
from notes.times import clock


@click.command(name="reread")
@click.argument("sessions", nargs=-1, metavar="[SESSION]...")
@click.option("--yes", is_flag=True, help="Do not ask.")
@first_only_option
@click.pass_context
def command(ctx: click.Context, sessions: tuple[str, ...], yes: bool, first_reader_only: bool) -> None:
    """Read kept transcripts again with today's vocabulary and readers; show what would change, and ask.

    SESSION is a day such as 2031-03-14, or a recording's name; default: all. What people corrected stays as they left
    it. All recordings change together or none does, because one answer is asked for all of them.

    \b
    Example: tapeside reread 2031-03-14
    """
    home = home_of(ctx)
    with Archive(home) as archive:
        recordings = _chosen(archive.recordings(), sessions)
        lexicon = load_lexicon(home)
        second = load_second_reader(lexicon, home, first_only=first_reader_only)
        club = club_mishearings(home)
        changed: list[Reading] = []
        words: dict[str, dict[str, Any]] = {}
        with progress_bar(len(recordings), "Reading again") as done:
            for recording in recordings:
                before, heard = _heard(archive, recording, club)
                reading = read(heard, recording.sheet, lexicon, recording.name, recording.sha256, second)
                if heard != before:
                    words[recording.sha256] = transcript_json(heard)
                if heard != before or not _is_kept(archive, reading):
                    changed.append(replace(reading, transcript=replace(heard, segments=())))
                done(1)
        for reading in changed:
            _tell(reading.recording, _difference(archive, reading), timed=reading.transcript.timed)
        if not changed:
            click.echo("Nothing would change.")
            return
        if not yes and not click.confirm("Keep the new readings?"):
            click.echo("Nothing was changed.")
            return
        archive.add_readings(changed, words)
    click.echo(f"{many(len(changed), 'recording')} read again.")


def _heard(archive: Archive, recording: Recording, club: tuple[Mishearing, ...]) -> tuple[Transcript, Transcript]:
    """What was heard when the recording was added, and that with what the club has taught since."""
    data, timed = archive.heard(recording.sha256)
    before = parse_transcript(data, recording.name, timed=timed)
    return before, heard_by_club(before, club)


def _chosen(recordings: list[Recording], sessions: tuple[str, ...]) -> list[Recording]:
    for session in sessions:
        if not any(session in (r.day.isoformat(), r.name) for r in recordings):
            raise TapesideError(f'No session "{session}" in the log; name a day such as 2031-03-14, or a recording')
    return [r for r in recordings if not sessions or {r.day.isoformat(), r.name} & set(sessions)]


def _is_kept(archive: Archive, reading: Reading) -> bool:
    """Whether the newest reading of a recording says the same."""
    logged, perhaps = newest_reading(archive.db, reading.recording_sha256)
    return _found(reading) == (logged, perhaps)


def _found(reading: Reading) -> tuple[list[Observation], list[Observation]]:
    return list(reading.observations), list(reading.perhaps)


def _difference(archive: Archive, reading: Reading) -> Difference:
    before = entries_now(archive.db, reading.recording_sha256)
    after = entries_now(archive.db, reading.recording_sha256, _found(reading))
    return difference(before, after, timed=reading.transcript.timed)


def _tell(name: str, difference: Difference, *, timed: bool) -> None:
    counts = (len(difference.new), len(difference.gone), len(difference.changed))
    if not difference:
        click.echo(f"{name}: the log stays as it is; only chances and what is offered change")
        return
    click.echo(f"{name}: {counts[0]} new, {counts[1]} gone, {counts[2]} changed")
    for sign, some in (("new", difference.new), ("gone", difference.gone)):
        for o in some:
            click.echo(f"  {sign:<8}{_at(o, timed)}{o.athlete}, {o.kind} {_what(o)}\n          “{o.quote}”")
    for before, after in difference.changed:
        told = "; ".join(
            f"{_NAMES.get(field, field)} {_value(before, field)} → {_value(after, field)}"
            for field in changed_fields(before, after)
        )
        click.echo(f"  changed {_at(after, timed)}{after.athlete}, {after.kind}: {told}\n          “{after.quote}”")


def _at(o: Observation, timed: bool) -> str:
    return f"{clock(o.start_ms)}  " if timed else ""


def _what(o: Observation) -> str:
    return ", ".join((*o.faults, *o.techniques)) or "as said"


_NAMES = {"techniques": "technique", "faults": "fault", "fixes": "fix", "footage_ms": "footage"}


def _value(o: Observation, field: str) -> str:
    value = getattr(o, field)
    if field == "footage_ms" and value is not None:
        return clock(value)
    return ", ".join(value) or "none" if isinstance(value, tuple) else str(value) if value is not None else "none"
