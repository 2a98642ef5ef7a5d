"""`tapeside correct`"""

from typing import Any, get_args

import click

from notes.archive import correcting
from notes.archive.archive import Archive
from notes.archive.changes import read_changes
from notes.archive.entries import Kept
from notes.archive.verdicts import State, Verdict
from notes.commands.common import home_of, json_option, print_json
from notes.errors import BadCorrection
from notes.intake import load_lexicon
from notes.observations_json import observation_json
from notes.times import clock


@click.command(name="correct")
@click.argument("ids", metavar="ID[,ID...]")
@click.argument("state", required=False, type=click.Choice(get_args(State)))
@click.argument("changes", nargs=-1, metavar="[KEY=VALUE]...")
@click.option("--undo", is_flag=True, help="Take back the newest word on it; the one before it stands again.")
@click.option("--history", is_flag=True, help="Show who said what of it, and when.")
@click.option("--why", help="Your reason, kept beside it.")
@click.option("--by", help="Who says so; default: the coach on the sheet, else your login name.")
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    ids: str,
    state: State | None,
    changes: tuple[str, ...],
    undo: bool,
    history: bool,
    why: str | None,
    by: str | None,
    as_json: bool,
) -> None:
    """Keep, strike or amend an observation. Your word outlives every re-reading.

    ID is an observation's id, or the start of it. Keys: athlete, kind, technique, fault, fix (lists parted by commas),
    why, round, footage (a time such as 1:15), again (yes or no); an empty value takes one away.

    \b
    Example: tapeside correct 3fa9c2 amended fault=chin-up round=2 --why "chin, not hands"
    """
    if undo + history + (state is not None) != 1:
        raise click.UsageError("Say one of kept, struck, amended, --undo or --history")
    wanted = [part.strip() for part in ids.split(",") if part.strip()]
    if not wanted:
        raise BadCorrection("An observation's id is missing; search and log --json show them")
    home = home_of(ctx)
    with Archive(home) as archive:
        if history:
            _show({i: correcting.history(archive, i) for i in wanted}, as_json=as_json)
            return
        lexicon = load_lexicon(home)
        if undo:
            stand = correcting.undo(archive, wanted, by=by, why=why)
        else:
            assert state
            stand = correcting.correct(archive, lexicon, wanted, state, read_changes(changes, lexicon), by=by, why=why)
    if as_json:
        print_json([observation_json(k.observation, timed=k.timed, verdict=k.verdict) for k in stand])
        return
    for kept in stand:
        click.echo(_line(kept))
    if undo and len(stand) < len(wanted):
        click.echo("What no reading holds and nobody keeps is out of the log again.")


def _line(kept: Kept) -> str:
    o = kept.observation
    what = ", ".join(o.faults or o.techniques) or "as said"
    on = f" on {', '.join(o.techniques)}" if o.faults and o.techniques else ""
    at = f" at {clock(o.start_ms)}" if kept.timed else ""
    stands = kept.verdict or "as read"
    return f"{o.id}: {stands}: {o.athlete}, {o.kind} {what}{on}\n    “{o.quote}”  ({kept.recording}{at})"


def _show(histories: dict[str, tuple[Verdict, ...]], *, as_json: bool) -> None:
    if as_json:
        print_json({i: [_verdict_json(v) for v in verdicts] for i, verdicts in histories.items()})
        return
    for name, verdicts in histories.items():
        click.echo(f"{name}:" if verdicts else f"{name}: as it was read; nobody has corrected it")
        if verdicts and not verdicts[0].added:
            o = verdicts[0].seen
            click.echo(f"  read as {o.athlete}, {o.kind} {', '.join(o.faults or o.techniques)}\n    “{o.quote}”")
        for verdict in verdicts:
            click.echo(f"  {verdict.at}  {verdict.by}: {_told(verdict)}{f'  ({verdict.why})' if verdict.why else ''}")


def _told(verdict: Verdict) -> str:
    if verdict.state == "undone":
        return "took the last word back"
    state = "added" if verdict.added and not verdict.changes and verdict.state == "amended" else verdict.state
    values = {name: value for name, value in verdict.changes.items() if name != "role"}
    told = ", ".join(f"{_NAMES.get(name, name)} {_value(name, value)}" for name, value in values.items())
    return f"{state}: {told}" if told else state


_NAMES = {"techniques": "technique", "faults": "fault", "fixes": "fix", "footage_ms": "footage"}


def _value(name: str, value: Any) -> str:
    if value in (None, ()):
        return "none"
    if name == "footage_ms":
        return clock(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(value) if isinstance(value, tuple) else str(value)


def _verdict_json(verdict: Verdict) -> dict[str, Any]:
    changes = {name: list(v) if isinstance(v, tuple) else v for name, v in verdict.changes.items()}
    return {
        "state": verdict.state,
        "added": verdict.added,
        "changes": changes,
        "by": verdict.by,
        "at": verdict.at,
        "why": verdict.why,
    }
