"""`tapeside lexicon check|list|explain|add|hear`"""

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import click

from lexicon import LexiconError, check
from lexicon.misheard import teach
from lexicon.own import add_entry
from lexicon.patterns import Stance
from notes.commands.common import (
    first_only_option,
    home_of,
    json_option,
    load_second_reader,
    print_json,
)
from notes.counting import many
from notes.errors import BadLexicon
from notes.intake import load_lexicon
from notes.settings import OWNER_LEXICON, OWNER_MISHEARD, make_home

T = TypeVar("T")


@click.group(name="lexicon")
def command() -> None:
    """Look after the vocabulary: check it, list it, ask it why, teach it."""


@command.command(name="check")
@click.pass_context
def check_command(ctx: click.Context) -> None:
    """Run every example of every entry; exit 1 if one is not read as it says."""
    lexicon = load_lexicon(home_of(ctx))
    faults = check(lexicon)
    for fault in faults:
        click.echo(fault)
    examples = sum(len(e.hits) + len(e.misses) for e in lexicon.entries.values())
    click.echo(f"{many(len(lexicon.entries), 'entry')}, {many(examples, 'example')}, {len(faults)} wrong")
    ctx.exit(1 if faults else 0)


@command.command(name="list")
@json_option
@click.pass_context
def list_command(ctx: click.Context, as_json: bool) -> None:
    """List every entry with its meaning."""
    lexicon = load_lexicon(home_of(ctx))
    if as_json:
        print_json([e.model_dump(mode="json") for e in lexicon.entries.values()])
        return
    for sort in ("technique", "fault", "fix", "welfare"):
        click.echo(f"{sort}s" if sort not in ("fix", "welfare") else {"fix": "fixes", "welfare": "welfare signs"}[sort])
        for entry in lexicon.of_sort(sort):
            click.echo(f"  {entry.id:<24}{entry.means}")


@command.command(name="explain")
@click.argument("text")
@click.option("--stance", type=click.Choice(["orthodox", "southpaw"]), default="orthodox", show_default=True)
@first_only_option
@click.pass_context
def explain_command(ctx: click.Context, text: str, stance: Stance, first_reader_only: bool) -> None:
    """Say what matched in TEXT, whose action it is, what was denied, supposed or ordered, what nearly
    matched, and what the second reader makes of it.

    \b
    Example: tapeside lexicon explain "don't drop your right hand"
    """
    from notes.reading.explain import explain

    home = home_of(ctx)
    lexicon = load_lexicon(home)
    second = load_second_reader(lexicon, home, first_only=first_reader_only)
    for line in explain(text, stance, lexicon, second):
        click.echo(line)


@command.command(name="add")
@click.argument("name", metavar="ID")
@click.option("--sort", type=click.Choice(["technique", "fault", "fix", "welfare"]), help="What a new entry is.")
@click.option("--means", help="What a new entry means, in a few words.")
@click.option("--say", multiple=True, required=True, help="Words it is said in; may be given again.")
@click.option("--hit", "hits", multiple=True, help="A sentence in which it must be found; may be given again.")
@click.option("--miss", "misses", multiple=True, help="A sentence in which it must not be found; may be given again.")
@click.pass_context
def add_command(
    ctx: click.Context,
    name: str,
    sort: str | None,
    means: str | None,
    say: tuple[str, ...],
    hits: tuple[str, ...],
    misses: tuple[str, ...],
) -> None:
    """Add an entry ID of your own, or more words for one that is there; the examples are run first.

    \b
    Examples:
      tapeside lexicon add chin-up --say "flying the kite" --hit "you're flying the kite again"
      tapeside lexicon add foot-drag --sort fault --means "back foot drags behind" \\
        --say "drag foot" --hit "you're dragging that foot" --miss "a foot sweep"
    """
    home = home_of(ctx)
    known = load_lexicon(home).entries.get(name)
    if known and sort:
        raise BadLexicon(f'"{name}" is in the lexicon as a {known.sort}; leave out --sort to add words to it')
    given = {"sort": sort, "means": means, "say": list(say), "hits": list(hits), "misses": list(misses)}
    entry = {
        "id": name,
        **({"extends": True} if known else {}),
        **{key: value for key, value in given.items() if value},
    }
    path = make_home(home) / OWNER_LEXICON
    added = _told(lambda: add_entry(path, entry))
    click.echo(f'{"Extended" if known else "Added"} {added.sort} "{added.id}": {added.means}. It is read from now on.')
    click.echo(f"To undo, delete its entry from {path}")


@command.command(name="hear")
@click.argument("wrong")
@click.argument("right")
@click.pass_context
def hear_command(ctx: click.Context, wrong: str, right: str) -> None:
    """Teach that RIGHT was said where the recogniser writes WRONG.

    \b
    Example: tapeside lexicon hear "tip" "teep"
    """
    path: Path = make_home(home_of(ctx)) / OWNER_MISHEARD
    before = _told(lambda: teach(path, wrong, right))
    wrong, right = (" ".join(text.lower().split()) for text in (wrong, right))
    click.echo(
        f'In recordings added from now on, "{wrong}" becomes "{right}" wherever the talk around it is of fighting.'
    )
    if before:
        click.echo(f'Until now it became "{before.said}".')
    click.echo(f'What was heard is kept beside each changed word. To undo, delete "{wrong}" from {path}')


def _told(work: Callable[[], T]) -> T:
    """What `work` gives; its error as one that the command line tells."""
    try:
        return work()
    except LexiconError as error:
        raise BadLexicon(str(error)) from None
