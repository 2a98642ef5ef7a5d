"""`tapeside lexicon check|list|explain`"""

import click

from lexicon import check
from lexicon.patterns import Stance
from notes.commands.common import first_only_option, home_of, json_option, load_lexicon, load_second_reader, print_json


@click.group(name="lexicon")
def command() -> None:
    """Look after the vocabulary: check it, list it, ask it why."""


@command.command(name="check")
@click.pass_context
def check_command(ctx: click.Context) -> None:
    """Run every example of every entry; exit 1 if one is not read as it says."""
    lexicon = load_lexicon(home_of(ctx))
    faults = check(lexicon)
    for fault in faults:
        click.echo(fault)
    examples = sum(len(e.hits) + len(e.misses) for e in lexicon.entries.values())
    click.echo(f"{len(lexicon.entries)} entries, {examples} examples, {len(faults)} wrong")
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
