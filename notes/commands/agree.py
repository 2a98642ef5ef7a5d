"""`tapeside agree`"""

import textwrap
from dataclasses import asdict
from itertools import zip_longest
from pathlib import Path
from typing import Any

import click

from notes.agreement import STRETCH_MS, Compared, Figure, compare_readings
from notes.archive.archive import Archive
from notes.archive.precision import Month, precision_by_month
from notes.commands.common import FILE, home_of, json_option, print_json
from notes.counting import many
from notes.errors import TapesideError
from notes.observations_json import ReadBack, read_reading_file
from notes.times import clock, to_ms

_COLUMN = 48


@click.command(name="agree")
@click.argument("one", type=FILE, metavar="A.json", required=False)
@click.argument("other", type=FILE, metavar="B.json", required=False)
@json_option
@click.pass_context
def command(ctx: click.Context, one: Path | None, other: Path | None, as_json: bool) -> None:
    """Say how well two readers of one recording agree, and where they do not.

    A.json and B.json are as `extract` and `export` write them; struck notes are left out. Without files: how much of
    what the program read a person has let stand in this log, month by month.

    \b
    Example: tapeside agree imre.json vera.json
    """
    if one is None:
        with Archive(home_of(ctx)) as archive:
            months = precision_by_month(archive)
        _print_months(months, as_json=as_json)
        ctx.exit(0 if months else 1)
    if other is None:
        raise TapesideError(f'"{one}" needs another reading to be compared with; name two files')
    recording, left, right = _same_recording(one, other)
    compared = compare_readings(left, right)
    if as_json:
        print_json({"recording": recording} | _compared_json(compared))
    else:
        _print(recording, one, other, compared)
    ctx.exit(0 if compared.one or compared.other else 1)


def _same_recording(one: Path, other: Path) -> tuple[str, list[ReadBack], list[ReadBack]]:
    """The recording that two files share, and the observations of each. Raises TapesideError unless it is just one."""
    left, right = read_reading_file(one).by_recording, read_reading_file(other).by_recording
    shared = left.keys() & right.keys()
    if len(shared) != 1:
        what = "no recording" if not shared else f"{len(shared)} recordings"
        raise TapesideError(
            f'"{one}" and "{other}" share {what}, and agree compares two readings of one; '
            "the recordings' names, without their endings, must be equal"
        )
    recording = shared.pop()
    for path, notes in ((one, left[recording]), (other, right[recording])):
        if any(note.spoken.start is None or note.spoken.end is None for note in notes):
            raise TapesideError(f'"{path}" has notes without spoken times; agree pairs notes by their times')
    return recording, left[recording], right[recording]


def _print(recording: str, one: Path, other: Path, compared: Compared) -> None:
    click.echo(f"{recording}: {many(compared.one, 'note')} in {one.name}, {compared.other} in {other.name}")
    if not compared.one and not compared.other:
        return
    click.echo(f"{compared.paired} are of the same athlete, kind and moment: detection F1 {_told(compared.f1)}\n")
    told = (
        (f"kind of each {STRETCH_MS // 1000} s", compared.kinds),
        ("fault of paired faults", compared.faults),
        ("technique of pairs", compared.techniques),
    )
    click.echo(f"{'':<24}{'units':>6}  {'equal':<7}{'kappa (95 %)':<24}{'alpha (95 %)'}")
    for name, found in told:
        equal = "-" if found.equal is None else f"{found.equal:.2f}"
        click.echo(f"{name:<24}{found.units:>6}  {equal:<7}{_told(found.kappa):<24}{_told(found.alpha)}")
    click.echo("\nCommon reading of alpha: .800 and more is firm, .667 the least to build anything on (Krippendorff).")
    if compared.differences:
        click.echo(f"\n{one.name:<{_COLUMN}}  {other.name}")
    for difference in compared.differences:
        click.echo("")
        for left, right in zip_longest(_cell(difference.one), _cell(difference.other), fillvalue=""):
            click.echo(f"{left:<{_COLUMN}}  {right}".rstrip())


def _cell(note: ReadBack | None) -> list[str]:
    if note is None:
        return ["-"]
    what = ", ".join((*note.faults, *note.techniques, *note.fixes)) or "nothing named"
    return [
        f"{clock(to_ms(note.spoken.start or 0))} {note.athlete}, {note.kind}",
        *textwrap.wrap(what, _COLUMN - 2),
        *textwrap.wrap(f"“{note.quote}”", _COLUMN - 2, max_lines=3, placeholder=" …"),
    ]


def _told(figure: Figure) -> str:
    if figure.value is None:
        return "cannot be computed"
    return f"{figure.value:.2f} ({figure.low:.2f} to {figure.high:.2f})"


def _compared_json(compared: Compared) -> dict[str, Any]:
    return {
        "notes": [compared.one, compared.other],
        "paired": compared.paired,
        "detection_f1": asdict(compared.f1),
        "kind_of_stretches": asdict(compared.kinds) | {"seconds": STRETCH_MS // 1000},
        "fault_of_pairs": asdict(compared.faults),
        "technique_of_pairs": asdict(compared.techniques),
        "differences": [
            [None if note is None else note.model_dump(mode="json") for note in (d.one, d.other)]
            for d in compared.differences
        ],
    }


def _print_months(months: list[Month], *, as_json: bool) -> None:
    if as_json:
        print_json({"months": [asdict(month) for month in months]})
        return
    if not months:
        click.echo("No note in this log has been judged by a person yet; see tapeside correct.")
        return
    click.echo("Of the notes that a person has judged, those let stand (kept or amended):\n")
    for m in months:
        judged = m.kept + m.amended + m.struck
        click.echo(
            f"  {m.month}  {m.share:4.0%} ({m.low:.0%} to {m.high:.0%}) of {judged:>4}: "
            f"{m.kept} kept, {m.amended} amended, {m.struck} struck"
        )
    click.echo("\nPeople judge what looks wrong sooner, so of all notes rather more would stand.")
