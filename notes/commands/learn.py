"""`tapeside learn`"""

from typing import Any

import click

from notes.archive.archive import Archive
from notes.commands.common import home_of, json_option, print_json, progress_bar
from notes.counting import many
from notes.errors import TapesideError
from notes.intake import load_lexicon
from notes.learning import LEAST, LEAST_EITHER, Lesson, Part, corrected, learn
from notes.reading.second.club import BEGINS, MERGING, go_back
from notes.reading.second.reader import second_reader


@click.command(name="learn")
@click.option("--undo", is_flag=True, help="Go back to what was learned before; once more: to the model as it comes.")
@json_option
@click.pass_context
def command(ctx: click.Context, undo: bool, as_json: bool) -> None:
    """Let the second reader learn from what you kept, amended and struck.

    It is tried on corrections that it has not learned from, and only what reads those better is kept, as numbers in the
    data home. The log stays as it is until you read again.

    \b
    Example: tapeside learn
    """
    home = home_of(ctx)
    if undo:
        if (before := go_back(home)) is None:
            raise TapesideError("Nothing is learned; the second reader reads as it comes")
        click.echo("It reads by what was learned before." if before else "The second reader reads as it comes.")
        click.echo(_NEXT)
        return
    lexicon = load_lexicon(home)
    if (second := second_reader(lexicon)) is None:
        raise TapesideError("The second reader's weights are missing from this installation; there is nothing to teach")
    with Archive(home) as archive, progress_bar(len(corrected(archive)), "Reading corrections") as done:
        lesson = learn(archive, lexicon, second, done)
    if as_json:
        print_json(_json(lesson))
    else:
        _tell(lesson)
    ctx.exit(0 if lesson.club else 1)


_NEXT = "Nothing in the log has changed; to read the kept transcripts again: tapeside reread"
_NAMES = {
    BEGINS: "what is heard",
    MERGING: "what of it is believed",
    "fault": "which fault",
    "technique": "which technique",
}


def _tell(lesson: Lesson) -> None:
    states = ", ".join(f"{lesson.verdicts[state]} {state}" for state in ("kept", "amended", "struck"))
    recordings = many(lesson.recordings, "recording")
    click.echo(f"Corrections: {states}, in {recordings}. Tried on those held back:\n")
    click.echo(f"{'':<28}{'right':>14}{'log loss':>16}")
    for part in lesson.parts:
        click.echo(f"{_NAMES[part.name]:<28}{_figures(part)}")
    click.echo("")
    if lesson.club:
        click.echo(f"Learned. {_NEXT}\nTo take it back: tapeside learn --undo")
    else:
        click.echo("Nothing was learned; all is read as before.")


def _figures(part: Part) -> str:
    f = part.figures
    if f is None:
        either = f", {LEAST_EITHER} of them struck and {LEAST_EITHER} not" if part.name in (BEGINS, MERGING) else ""
        return f"{'':>30}  too few to learn from: {part.count}; needed are {LEAST}{either}"
    right = f"{f.right_before} → {f.right_after} of {f.count}"
    loss = f"{f.loss_before:.3f} → {f.loss_after:.3f}"
    return f"{right:>14}{loss:>16}  {'taken' if part.taken else 'refused: not clearly better than as it comes'}"


def _json(lesson: Lesson) -> dict[str, Any]:
    return {
        "recordings": lesson.recordings,
        "verdicts": {state: lesson.verdicts[state] for state in ("kept", "amended", "struck")},
        "learned": lesson.club is not None,
        "parts": [
            {
                "part": part.name,
                "corrections": part.count,
                "taken": part.taken,
                "right_before": f and f.right_before,
                "right_after": f and f.right_after,
                "log_loss_before": f and round(f.loss_before, 4),
                "log_loss_after": f and round(f.loss_after, 4),
            }
            for part in lesson.parts
            for f in [part.figures]
        ],
    }
