"""Markdown out and in. What is written is read back as the same blocks, whatever the text holds."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from notes.report.document import Block, Bullets, Heading, Paragraph, Quote, Run, Runs, Table, run

if TYPE_CHECKING:
    from markdown_it.tree import SyntaxTreeNode

_SIGNS = re.compile(r"([\\`*_\[\]#|~&])")
_LINE_START = re.compile(r"^(?:([-+=])|(\d{1,9})([.)]))")


def write_blocks(blocks: tuple[Block, ...]) -> str:
    """Blocks as CommonMark with tables; nothing in their text can act as markup."""
    return "\n\n".join(filter(None, map(_block, blocks)))


def read_blocks(text: str) -> tuple[Block, ...]:
    """The blocks of a person's Markdown. HTML is read as text; links, pictures and italics leave their words."""
    from markdown_it import MarkdownIt
    from markdown_it.tree import SyntaxTreeNode

    tree = SyntaxTreeNode(MarkdownIt("commonmark", {"html": False}).enable("table").parse(text))
    return tuple(_read(tree))


def _block(block: Block) -> str:
    match block:
        case Heading(level, runs):
            return f"{'#' * level} {_inline(runs)}"
        case Quote(runs):
            return f"> {_inline(runs)}"
        case Bullets(items):
            return "\n".join(f"- {_inline(item)}" for item in items)
        case Table(head, rows):
            lines = [_row(head), _row(tuple((Run("---"),) for _ in head), raw=True), *map(_row, rows)]
            return "\n".join(lines)
        case Paragraph(runs):
            return _inline(runs)


def _row(cells: tuple[Runs, ...], *, raw: bool = False) -> str:
    return f"| {' | '.join(cell[0].text if raw else _inline(cell) for cell in cells)} |"


def _inline(runs: Runs) -> str:
    parts = [f"**{_escaped(r.text)}**" if r.strong else _escaped(r.text) for r in runs if r.text]
    return _LINE_START.sub(lambda m: f"\\{m[1]}" if m[1] else f"{m[2]}\\{m[3]}", " ".join(parts))


def _escaped(text: str) -> str:
    return _SIGNS.sub(r"\\\1", text).replace("<", "&lt;").replace(">", "&gt;")


def _read(tree: "SyntaxTreeNode") -> Iterator[Block]:
    for node in tree.children:
        if node.type == "heading":
            yield Heading(int(node.tag[1]), _runs(node))
        elif node.type == "paragraph":
            yield Paragraph(_runs(node))
        elif node.type == "blockquote":
            yield from (Quote(_runs(part)) for part in node.children)
        elif node.type in ("bullet_list", "ordered_list"):
            yield Bullets(tuple(_runs(item) for item in node.children))
        elif node.type == "table":
            head, *rows = [
                tuple(_runs(cell) for cell in row.children) for part in node.children for row in part.children
            ]
            yield Table(head, tuple(rows))
        elif node.content:
            yield Paragraph((run(node.content),))


def _runs(node: "SyntaxTreeNode") -> Runs:
    """The words under a node; neighbours of one weight are one run."""
    joined: list[Run] = []
    for text, strong in _words(node, strong=False):
        if joined and joined[-1].strong == strong:
            joined[-1] = Run(joined[-1].text + text, strong)
        else:
            joined.append(Run(text, strong))
    cleaned = (run(r.text, strong=r.strong) for r in joined)
    return tuple(r for r in cleaned if r.text)


def _words(node: "SyntaxTreeNode", *, strong: bool) -> Iterator[tuple[str, bool]]:
    if node.type in ("softbreak", "hardbreak"):
        yield " ", strong
    elif not node.children:
        yield node.content, strong
    for child in node.children:
        yield from _words(child, strong=strong or child.type == "strong")
        if child.type in ("paragraph", "list_item"):
            yield " ", strong
