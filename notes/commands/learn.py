"""`tapeside learn`"""

from typing import Any

import click

from notes.archive.archive import Archive
from notes.commands.common import home_of, json_option, print_json, progress_bar
from notes.errors import TapesideError
from notes.intake import load_lexicon
from notes.learning import corrected, learn
from notes.lesson import NEXT, Lesson, told_of_going_back
from notes.reading.second.club import go_back
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
        click.echo(f"{told_of_going_back(before)}\n{NEXT}")
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


def _tell(lesson: Lesson) -> None:
    click.echo(f"{lesson.taught_by}\n")
    click.echo(f"{'':<28}{'right':>14}{'log loss':>16}")
    for part in lesson.parts:
        click.echo(f"{part.label:<28}{part.right:>14}{part.loss:>16}  {part.outcome}")
    click.echo(f"\n{lesson.outcome}")
    if lesson.club:
        click.echo("To take it back: tapeside learn --undo")


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
