"""`tapeside progress`"""

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from notes.archive.archive import Archive
from notes.archive.exposure import exposure, watched_of
from notes.archive.progress import LEAST_NOTES, Change, FaultProgress, Progress, progress
from notes.commands.common import FILE, home_of, json_option, print_json
from notes.commands.log import exposure_json
from notes.counting import many
from notes.rates import Rate

CAUTIONS = (
    "The worst fault of the older half tends to look better in the newer one by chance alone: of ten equal faults with "
    "six notes each, the worst falls by 40 % while nothing changes (regression to the mean).",
    "A rate counts what was said, not what was done: another coach, partner or way of reviewing moves it too.",
    "Look a few times a year, not after every session: each look is one more chance of a false claim.",
)


@click.command(name="progress")
@click.argument("athlete")
@click.option("--fault", help="Show only this fault id; all are tested together all the same.")
@click.option("--plot", type=FILE, help="Also draw it: F.svg or F.png.")
@json_option
@click.pass_context
def command(ctx: click.Context, athlete: str, fault: str | None, plot: Path | None, as_json: bool) -> None:
    """Show how often each fault of ATHLETE is noted, and whether that has changed.

    The newer half of what was watched is compared with the older half.

    \b
    Example: tapeside progress Mara --plot mara.svg
    """
    from notes.report.plots import check_plot, plot_progress

    if plot:
        check_plot(plot)
    with Archive(home_of(ctx)) as archive:
        person = archive.athlete(athlete)
        found = progress(archive.observations_of(person), exposure(watched_of(archive, person)))
    shown = replace(found, faults=tuple(f for f in found.faults if fault in (None, f.fault)))
    if as_json:
        print_json(_progress_json(person.name, shown))
    elif shown.faults:
        _print(person.name, shown)
    else:
        _print_nothing(person.name, found, fault)
    if plot and shown.faults:
        plot_progress(person.name, shown, plot)
        click.echo(f"Plot: {plot}", err=as_json)
    ctx.exit(0 if shown.faults else 1)


def _print_nothing(name: str, found: Progress, fault: str | None) -> None:
    if not found.watched.counted:
        click.echo(f"{name}: {found.watched.summary}, so no rate can be told; add recordings with times or rounds.")
    elif fault:
        click.echo(f'No fault "{fault}" was noted of {name}; tapeside log {name} --kind fault lists those that were.')
    else:
        click.echo(f"No fault was noted of {name} in {found.watched.summary}.")


def _print(name: str, shown: Progress) -> None:
    watched, cut = shown.watched, shown.cut
    click.echo(f"{name}: {many(len(watched.days), 'session')}; {watched.summary}")
    if cut is None:
        click.echo("All of it on one day: there is nothing yet to compare.")
    else:
        older, newer = watched.told(sum(watched.amounts[:cut])), watched.told(sum(watched.amounts[cut:]))
        click.echo(f"Older half: {older} until {watched.days[cut - 1]}. Newer half: {newer} from {watched.days[cut]}.")
        click.echo(f"Tested for change: the faults with {LEAST_NOTES} notes or more ({shown.tested}).")
    click.echo(f"\nNotes a {watched.unit}, with 95 % limits; bars: each session, older | newer, all on one scale")
    few = [f for f in shown.faults if f.change and f.change.p is None]
    in_full = [f for f in shown.faults if f not in few] or few[:1]
    highest = max(max(_day_rates(f, shown)) for f in in_full)
    for fault in in_full:
        click.echo(f"\n  {fault.fault}: {fault.rate.count}x, {_told(fault.rate)}")
        bars = sparkline(_day_rates(fault, shown), highest)
        click.echo(f"      {bars if cut is None else f'{bars[:cut]}|{bars[cut:]}'}")
        if fault.change:
            click.echo(f"      {_change(fault, fault.change)}")
    if others := [f"{f.fault} {f.rate.count}x" for f in few if f not in in_full]:
        _paragraph(f"Too few notes to compare: {', '.join(others)}.")
    if cut is not None:
        _paragraph("p allows for the number of faults tested (Holm) and for notes that come in bouts.")
        for caution in CAUTIONS:
            _paragraph(caution)


def _paragraph(text: str) -> None:
    click.echo("\n" + click.wrap_text(text, 100))


def _day_rates(fault: FaultProgress, shown: Progress) -> list[float]:
    """The rate of each day; -1 where what was watched is unknown."""
    amounts = shown.watched.amounts
    return [count / amount if amount else -1.0 for count, amount in zip(fault.counts, amounts, strict=True)]


def sparkline(values: Sequence[float], highest: float) -> str:
    """A bar for each value, the tallest for `highest`; a dot for 0, a question mark below it.

    >>> sparkline([0, 1, 2, 4, -1], 4)
    '·▂▄█?'
    """
    bars = "▁▂▃▄▅▆▇█"
    return "".join("?" if v < 0 else "·" if v == 0 else bars[max(math.ceil(v / highest * 8) - 1, 0)] for v in values)


def _told(rate: Rate) -> str:
    return f"{rate.value:.2f} ({rate.low:.2f} to {rate.high:.2f})"


def _change(fault: FaultProgress, change: Change) -> str:
    rates = f"{_told(change.older)} -> {_told(change.newer)}"
    if change.p is None:
        return f"{rates}: {fault.verdict} to compare"
    compared = change.comparison
    times = "" if compared.ratio is None else f"x {compared.ratio:.2f} ({compared.low:.2f} to {compared.high:.2f}), "
    p = "p < .001" if change.p < 0.001 else f"p = {change.p:.3f}".replace("0.", ".")
    return f"{rates}: {times}{p}: {fault.verdict}"


def _progress_json(name: str, shown: Progress) -> dict[str, Any]:
    watched, cut = shown.watched, shown.cut
    return {
        "athlete": name,
        "watched": exposure_json(watched),
        "newer_half_from": None if cut is None else watched.days[cut].isoformat(),
        "tested": shown.tested,
        "least_notes": LEAST_NOTES,
        "faults": [
            {
                "fault": f.fault,
                "counts": list(f.counts),
                "rate": _rate_json(f.rate),
                "verdict": f.verdict,
                "change": _change_json(f.change) if f.change else None,
            }
            for f in shown.faults
        ],
        "cautions": list(CAUTIONS),
    }


def _rate_json(rate: Rate) -> dict[str, Any]:
    return {
        "notes": rate.count,
        "watched": round(rate.exposure, 3),
        "rate": rate.value,
        "low": rate.low,
        "high": rate.high,
    }


def _change_json(change: Change) -> dict[str, Any]:
    compared = change.comparison
    return {
        "older": _rate_json(change.older),
        "newer": _rate_json(change.newer),
        "ratio": None if compared.ratio is None or math.isinf(compared.ratio) else compared.ratio,
        "low": compared.low,
        "high": None if math.isinf(compared.high) else compared.high,
        "p_exact": compared.p,
        "bouts": change.bouts,
        "p": change.p,
    }
