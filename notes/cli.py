"""The command names with their help. A command is imported only when it is run, so `--help` is quick."""

import signal
import sys
from importlib import import_module
from pathlib import Path
from types import FrameType
from typing import NoReturn

import click

from notes import __version__
from notes.errors import TapesideError
from notes.settings import NO_SPACE

COMMANDS = {
    "demo": "Run the main job on the packaged demo, explained step by step.",
    "transcribe": "Turn speech into text with word times.",
    "extract": "Print the observations of a recording; keep nothing.",
    "add": "Keep the observations of recordings in the log.",
    "record": "Narrate into the microphone, then as add.",
    "log": "Show an athlete's fault log.",
    "progress": "Show whether an athlete's faults come less often, with honest limits.",
    "search": "Find words and concepts over all sessions.",
    "correct": "Keep, strike or amend an observation.",
    "learn": "Let the second reader learn from corrections.",
    "reread": "Read kept transcripts again; show what changes, and ask.",
    "agree": "Compare two readings of one recording.",
    "critique": "Write an athlete's critique.",
    "plan": "Make a training plan from what stands in the log.",
    "squad": "Show what several athletes share, and a session for all.",
    "clips": "Cut an athlete's moments from the footage.",
    "chapters": "Write captions and chapters for a player of the footage.",
    "desk": "Open the review desk in the browser.",
    "people": "List the athletes; merge and split names.",
    "export": "Write the whole log as JSON, CSV or Parquet.",
    "backup": "Copy the whole log into one file.",
    "restore": "Put a backup in the place of the log.",
    "forget": "Remove every trace of an athlete.",
    "lexicon": "Look after the vocabulary.",
}


class LazyGroup(click.Group):
    """A group that knows its commands' names and one-line help without importing them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one command."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"notes.commands.{cmd_name}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Name the nearest command when one is misspelt."""
        if args and args[0] not in COMMANDS:
            from difflib import get_close_matches

            near = get_close_matches(args[0], COMMANDS, n=1)
            guess = f"; did you mean '{near[0]}'?" if near else ""
            ctx.fail(f"No such command '{args[0]}'{guess}")
        return super().resolve_command(ctx, args)


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--home",
    type=click.Path(path_type=Path, readable=False),
    help="Data home; default: TAPESIDE_HOME, else the platform's data folder.",
)
@click.version_option(__version__, prog_name="tapeside")
@click.pass_context
def app(ctx: click.Context, home: Path | None) -> None:
    """Turn a coach's spoken review of sparring footage into each athlete's fault log.

    \b
    Example:
      tapeside add review.m4a --sheet review.yaml
      tapeside log Mara
    """
    ctx.obj = home


class _Interrupt:
    """Knows that Ctrl-C was pressed, whatever a library makes of the KeyboardInterrupt.

    A compiled module that is interrupted while it is imported raises ImportError instead.
    """

    pressed = False

    def __call__(self, number: int, frame: FrameType | None) -> None:
        self.pressed = True
        signal.default_int_handler(number, frame)


def main() -> None:
    """Run the program; a user's mistake is one line on stderr and exit code 2, never a traceback."""
    interrupt = _Interrupt()
    signal.signal(signal.SIGINT, interrupt)
    try:
        code = app.main(standalone_mode=False)
    except BaseException as error:
        if interrupt.pressed or isinstance(error, click.exceptions.Abort):
            _quit("Interrupted; what was finished is kept, and running the same command again goes on from there.", 130)
        _tell(error)
    sys.exit(code if isinstance(code, int) else 0)


def _tell(error: BaseException) -> NoReturn:
    """Say in one line what went wrong; what no user can mend is raised again."""
    if isinstance(error, click.ClickException):
        error.show()
        sys.exit(2)
    if isinstance(error, TapesideError):
        _quit(str(error), 2)
    if isinstance(error, BrokenPipeError):
        sys.stderr.close()
        sys.exit(0)
    if isinstance(error, OSError) and error.errno in NO_SPACE:
        _quit("The disk is full; free some space and run the same command again", 2)
    raise error


def _quit(message: str, code: int) -> NoReturn:
    click.echo(f"tapeside: {message}" if code == 2 else message, err=True)
    sys.exit(code)


if __name__ == "__main__":
    main()
