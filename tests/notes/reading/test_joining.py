"""The reading guide's numbered rules: where one observation ends and the next begins."""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from gold import CORPUS, read_gold
from reviews import read

from lexicon import Lexicon
from notes.reading.observations import read_observations


def test_a_fault_its_technique_and_its_fix_are_one(vocabulary: Lexicon) -> None:
    (found,) = read(vocabulary, "You kicked with nothing in front of it, that low kick.", "Set it up with the jab.")

    assert (found.kind, found.faults, found.techniques) == ("fault", ("no-setup",), ("low-kick",))
    assert found.fixes == ("set-it-up",)
    assert found.quote == "You kicked with nothing in front of it, that low kick. Set it up with the jab."


def test_praise_and_fault_in_one_sentence_are_two(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "Lovely jab, but your chin is in the air.")

    assert sorted(o.kind for o in found) == ["fault", "strength"]


def test_the_same_fault_at_another_moment_is_another(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "You're leaning back.", "Fine jab.", "He circles.", "And you're leaning back again.")

    assert [o.again for o in found if o.kind == "fault"] == [False, True]


def test_again_repeats_the_last_fault(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "You're leaning back on the cross.", "Again.")

    assert [(o.faults, o.again) for o in found] == [(("leaning-back",), False), (("leaning-back",), True)]


def test_a_closing_summary_is_not_logged_again(vocabulary: Lexicon) -> None:
    said = ["You're leaning back.", *["He circles."] * 8, "So to sum up, you're leaning back."]

    assert len([o for o in read(vocabulary, *said) if o.kind == "fault"]) == 1


def test_a_bare_command_in_live_talk_is_a_fault(vocabulary: Lexicon) -> None:
    (found,) = read(vocabulary, "Move your head!")

    assert (found.kind, found.faults, found.fixes) == ("fault", ("no-head-movement",), ("move-head",))


def test_a_rule_without_a_fault_is_advice(vocabulary: Lexicon) -> None:
    (found,) = read(vocabulary, "For next week, always check the low kick.")

    assert found.kind == "advice"


def test_a_fault_without_an_id_is_kept_in_the_coachs_words(vocabulary: Lexicon) -> None:
    (found,) = read(vocabulary, "You're chewing that thing like a cow in a field.")

    assert found.faults == ("unlisted",)
    assert found.unlisted == "You're chewing that thing like a cow in a field."


def test_the_reason_is_kept_in_the_coachs_words(vocabulary: Lexicon) -> None:
    (found,) = read(vocabulary, "You're leaning back, because you're scared of his hook.")

    assert found.why == "you're scared of his hook"


def test_a_welfare_sign_is_no_fault(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "That one buzzed you.")

    assert [o.kind for o in found] == ["welfare"]
    assert read(vocabulary, "No, that didn't buzz you.") == []


def test_text_without_case_or_marks_still_reads(vocabulary: Lexicon) -> None:
    said = "You're dropping your right hand."

    assert [o.faults for o in read(vocabulary, said)] == [
        o.faults for o in read(vocabulary, said.lower().replace("'", "").replace(".", ""))
    ]


@pytest.mark.parametrize("name", ["amber-01", "dockside-02"])
def test_capitals_change_nothing(vocabulary: Lexicon, name: str) -> None:
    gold = read_gold(CORPUS / "work" / f"{name}.gold.yaml")

    def findings(change: Callable[[str], str]) -> list[object]:
        said = tuple(replace(s, text=change(s.text)) for s in gold.transcript.segments)
        found = read_observations(replace(gold.transcript, segments=said), gold.sheet, vocabulary)
        return [(o.start_ms, o.athlete, o.kind, o.faults, o.techniques, o.fixes, o.round) for o in found]

    assert findings(str.upper) == findings(str.lower) == findings(str)


def test_the_same_words_give_the_same_result_in_every_run() -> None:
    code = (
        "import lexicon, reviews\n"
        "said = ('Lovely jab, but you lean back and your hands are low.', 'Head off the line, same thing again.')\n"
        "print(reviews.read(lexicon.load(), *said))"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(__file__).parent)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }

    assert len(outputs) == 1 and "leaning-back" in outputs.pop()


def test_praise_that_is_only_supposed_is_nothing(vocabulary: Lexicon) -> None:
    assert read(vocabulary, "If he had a good hook you would be on the floor.") == []


def test_an_order_for_another_one_repeats_no_fault(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "You're leaning back.", "He circles.", "He waits.", "Send another one after it.")

    assert [o.again for o in found if o.faults == ("leaning-back",)] == [False]
