"""Progress as a picture: a panel a fault, each session a dot, each half a line in its 95 % band.

Halves differ by lightness, line and place, so the picture stays readable in grey and to the colour-blind. All panels
have one scale. Nothing in it tells when it was made: equal progress gives an equal file.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from notes.archive.progress import FaultProgress, Progress
from notes.errors import TapesideError
from notes.rates import Rate

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ENDINGS = (".svg", ".png")
MOST_PANELS = 6
OLDER, NEWER, DOT = "#8a8a8a", "#0b4f8a", "#222222"


def check_plot(out: Path) -> None:
    """Raise TapesideError unless a plot can be written under this name."""
    if out.suffix.lower() not in ENDINGS:
        raise TapesideError(f'"{out}" must end in .svg or .png; the ending chooses the form')


def plot_progress(athlete: str, shown: Progress, out: Path) -> None:
    """Draw the faults noted most often, six at most, as SVG or PNG. Raises TapesideError where it cannot be written."""
    check_plot(out)
    import matplotlib
    from matplotlib.figure import Figure

    faults = shown.faults[:MOST_PANELS]
    columns = min(2, len(faults))
    rows = -(-len(faults) // columns)
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "tapeside", "font.size": 9}):
        figure = Figure(figsize=(4.5 * columns, 2.3 * rows + 0.9), layout="constrained")
        panels = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False).flat
        for fault, panel in zip(faults, panels, strict=False):
            _draw(panel, fault, shown)
        for spare in panels:
            spare.set_axis_off()
        figure.suptitle(f"{athlete}: {shown.watched.summary}", x=0.01, ha="left", fontsize=11, parse_math=False)
        figure.supylabel(f"notes a {shown.watched.unit}", fontsize=9)
        figure.supxlabel(_legend(shown), fontsize=8, color="#444444", x=0.01, ha="left")
        try:
            figure.savefig(out, dpi=150, metadata={"Date": None} if out.suffix.lower() == ".svg" else None)
        except OSError as error:
            raise TapesideError(f'Cannot write "{out}" ({error.strerror})') from None


def _draw(panel: "Axes", fault: FaultProgress, shown: Progress) -> None:
    import matplotlib.dates as mdates

    watched = shown.watched
    seen = [day for day, amount in enumerate(watched.amounts) if amount]
    days = mdates.date2num([watched.days[day] for day in seen])
    rates = [fault.counts[day] / watched.amounts[day] for day in seen]
    if fault.change is None or shown.cut is None:
        _band(panel, fault.rate, days[0] - 1, days[-1] + 1, OLDER, "-")
    else:
        edge = (mdates.date2num(watched.days[shown.cut - 1]) + mdates.date2num(watched.days[shown.cut])) / 2
        _band(panel, fault.change.older, days[0] - 2, edge, OLDER, "--")
        _band(panel, fault.change.newer, edge, days[-1] + 2, NEWER, "-")
    panel.plot(days, rates, "o", ms=3.5, mfc="white", mec=DOT, mew=0.8, zorder=3)
    panel.set_title(f"{_short(fault.fault)}: {fault.verdict}", loc="left", fontsize=9.5, parse_math=False)
    locator = mdates.AutoDateLocator(maxticks=6)
    panel.xaxis.set_major_locator(locator)
    panel.xaxis.set_major_formatter(mdates.ConciseDateFormatter(locator))
    panel.set_ylim(bottom=-0.03 * max(panel.get_ylim()[1], 1e-9))
    panel.spines[["top", "right"]].set_visible(False)
    panel.grid(axis="y", color="#dddddd", linewidth=0.6)
    panel.set_axisbelow(True)


def _band(panel: "Axes", part: Rate, start: float, end: float, colour: str, line: str) -> None:
    panel.fill_between([start, end], part.low, part.high, color=colour, alpha=0.22, linewidth=0)
    panel.plot([start, end], [part.value, part.value], line, color=colour, linewidth=2)


def _legend(shown: Progress) -> str:
    told = "dot: a session"
    if shown.cut is not None:
        told += "; dashed and grey: older half; solid and dark: newer half; band: 95 % limits"
    if more := len(shown.faults) - MOST_PANELS:
        told += f"; {more} more noted less often" if more > 0 else ""
    return told


def _short(text: str) -> str:
    return text if len(text) <= 38 else text[:37].rstrip() + "…"
