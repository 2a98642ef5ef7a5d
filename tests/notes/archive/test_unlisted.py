"""Grouping by likeness, and the command that makes an entry."""

import shlex

from notes.archive.unlisted import add_command, groups_alike


def test_other_order_form_and_small_words_are_alike() -> None:
    assert groups_alike(["drags that back foot", "Dragging your back foot again.", "swatting flies"]) == [[0, 1], [2]]


def test_other_words_are_not_alike() -> None:
    assert groups_alike(["swatting flies with the lead hand", "posting on the lead leg"]) == [[0], [1]]
    assert groups_alike([]) == []


def test_texts_of_small_words_alone_are_told_apart() -> None:
    assert groups_alike(["not that", "with him", "not that"]) == [[0, 2], [1]]


def test_the_command_survives_the_shell() -> None:
    words = shlex.split(add_command(["don't go $HOME with it;", "“don't” go home"]))

    assert words[:3] == ["tapeside", "lexicon", "add"]
    assert "don't go $HOME with it" in words
    assert words.count("--say") == 2
