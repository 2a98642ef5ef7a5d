"""Search over a real log: what is found, in which order, why, and where it is marked."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reviews import sheet, talk

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.asking import ask
from notes.archive.marking import marks_in
from notes.archive.search import Filters, Order, Result, search
from notes.extract import read
from notes.speech.transcripts import transcript_json

SAID = {
    date(2031, 3, 14): (
        "You stayed on the tramlines with the right hand.",
        "Lovely long teep.",
        "You're leaning back.",
    ),
    date(2031, 4, 1): ("Your noggin is in the middle of the road.", "The right hand is lovely, hands high."),
    date(2031, 2, 1): ("Hands on the right side of your belt. Lift your hands up.",),
}


def add(archive: Archive, vocabulary: Lexicon, day: date, *said: str, **keys: Any) -> None:
    facts, heard, name = sheet(**keys), talk(*said), f"{day}-{keys.get('athletes', 'Mara')}"
    archive.add(read(heard, facts, vocabulary, name, name), facts, day, None, transcript_json(heard))


@pytest.fixture
def log(home: Path, vocabulary: Lexicon) -> Iterator[Archive]:
    with Archive(home) as archive:
        for day, said in SAID.items():
            add(archive, vocabulary, day, *said)
        add(
            archive,
            vocabulary,
            date(2031, 5, 1),
            "You're leaning back.",
            athletes=[{"name": "Jória", "aliases": ["Jo"]}],
        )
        yield archive


def found(log: Archive, vocabulary: Lexicon, query: str, order: Order = "best", **filters: Any) -> list[Result]:
    return search(log, vocabulary, query, Filters(**filters), 20, order)


def quotes(results: list[Result]) -> list[str]:
    return [result.kept.observation.quote for result in results]


def test_a_concept_is_found_in_every_wording(log: Archive, vocabulary: Lexicon) -> None:
    results = found(log, vocabulary, "head on centreline")

    assert {r.kept.day for r in results} >= {date(2031, 3, 14), date(2031, 4, 1)}
    assert all("means head-on-centreline" in r.matched for r in results[:2])


def test_a_narrower_fault_is_found_after_the_one_that_was_asked_for(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(archive, vocabulary, date(2031, 3, 1), "Your gloves are down by your waist.")
        add(archive, vocabulary, date(2031, 3, 2), "You walk out of the exchange with both hands by your hips.")
        faults = [result.kept.observation.faults for result in found(archive, vocabulary, "hands low")]

    assert faults == [("hands-low",), ("hands-low-on-exit",)]


def test_a_phrase_must_be_said_in_its_order(log: Archive, vocabulary: Lexicon) -> None:
    assert all("right hand" in quote for quote in quotes(found(log, vocabulary, '"right hand"')))
    assert len(found(log, vocabulary, "right hand")) > len(found(log, vocabulary, '"right hand"')) == 2
    assert found(log, vocabulary, '"hand right"') == []


def test_a_misspelt_word_is_found_and_told(log: Archive, vocabulary: Lexicon) -> None:
    (result,) = found(log, vocabulary, "tramlinse")

    assert 'says "tramline", typed "tramlinse"' in result.matched


def test_an_athletes_name_brings_their_notes_first(log: Archive, vocabulary: Lexicon) -> None:
    first, *others = found(log, vocabulary, "joria leaning back")

    assert first.kept.observation.athlete == "Jória"
    assert {r.kept.observation.athlete for r in others} == {"Mara"}
    assert found(log, vocabulary, "Jo leaning back")[0].kept == first.kept


def test_a_phrase_as_it_was_typed_comes_before_its_other_forms(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(
            archive,
            vocabulary,
            date(2031, 1, 1),
            "You're leaning back, and then you hang up the phone on me, every time.",
        )
        add(archive, vocabulary, date(2031, 2, 1), "You're leaning back, you hung up the phone.")
        results = found(archive, vocabulary, '"hang up the phone"')

    assert [r.kept.day.month for r in results] == [1, 2]
    assert results[0].score > results[1].score


def test_a_named_athletes_own_notes_come_before_those_that_say_the_name_more(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(archive, vocabulary, date(2031, 1, 1), "Jo, you're leaning back.", athletes=[{"name": "Mara"}])
        add(
            archive,
            vocabulary,
            date(2031, 1, 2),
            "You lean back with your chin in the air when she comes, and there you stay until the bell rings for both of you.",
            athletes=[{"name": "Jo"}],
        )
        first = found(archive, vocabulary, "Jo leaning back")[0]

    assert first.kept.observation.athlete == "Jo"


@pytest.mark.parametrize("query", ["drop hands", "dropping his hands", "she drops her hands", "you drop the hands"])
def test_whose_hands_they_are_changes_no_concept(log: Archive, vocabulary: Lexicon, query: str) -> None:
    assert "hands-low" in ask(log.db, vocabulary, query).concepts


def test_a_filter_by_athlete_holds(log: Archive, vocabulary: Lexicon) -> None:
    results = found(log, vocabulary, "leaning back", athlete=log.athlete("Mara"))

    assert {r.kept.observation.athlete for r in results} == {"Mara"}


def test_days_are_inclusive(log: Archive, vocabulary: Lexicon) -> None:
    day = date(2031, 4, 1)

    assert {r.kept.day for r in found(log, vocabulary, "hand", since=day, until=day)} == {day}
    assert found(log, vocabulary, "hand", until=date(2031, 1, 31)) == []


def test_newest_first_goes_by_the_day_of_the_footage(log: Archive, vocabulary: Lexicon) -> None:
    days = [r.kept.day for r in found(log, vocabulary, "right hand", "newest")]

    assert days == sorted(days, reverse=True)
    assert days[0] == date(2031, 4, 1)


def test_what_is_struck_or_gone_is_not_found_nor_in_the_vocabulary(log: Archive, vocabulary: Lexicon) -> None:
    log.db.execute("UPDATE entry SET verdict = 'struck' WHERE quote LIKE '%tramlines%'")

    assert found(log, vocabulary, '"tramlines"') == []
    assert log.db.execute("SELECT count(*) FROM vocabulary WHERE word = 'tramline'").fetchone()[0] == 0


def test_the_index_follows_the_entries(log: Archive) -> None:
    def state() -> list[list[str]]:
        tables = ("SELECT words FROM entry_words", "SELECT word || notes FROM vocabulary")
        return [sorted(row[0] for row in log.db.execute(sql)) for sql in tables]

    before = state()
    log.rebuild()

    assert state() == before
    log.db.execute("INSERT INTO entry_search (entry_search, rank) VALUES ('integrity-check', 1)")
    log.db.execute("DELETE FROM recording")
    assert state() == [[], []]


def test_matching_words_are_marked(log: Archive, vocabulary: Lexicon) -> None:
    for query, marked in (("tramlines", "tramlines"), ('"right hand"', "right hand"), ("lean back", "leaning back")):
        result = found(log, vocabulary, query)[0]
        quote = result.kept.observation.quote
        assert marked in [quote[a:b] for a, b in marks_in(quote, result.asked, vocabulary)], query


def test_small_words_alone_are_searched_for(log: Archive, vocabulary: Lexicon) -> None:
    assert any("on the" in quote for quote in quotes(found(log, vocabulary, "on the")))


AWKWARD = [
    "",
    '"',
    '""',
    "AND OR NOT",
    "jab AND",
    "NEAR(a b)",
    "words:x",
    "a*",
    "-hand",
    "'; --",
    "\0",
    "👊 jab",
    "_",
    "is_jab",
]
texts = st.one_of(
    st.text(max_size=80),
    st.lists(
        st.sampled_from(['"', "right", "hand", "tramlinse", "(", ")", "*", "^", ":", "AND", "NOT", "\0", "é", "🥊"])
    ).map(" ".join),
    st.sampled_from([*AWKWARD, "right hand " * 1_000, "x" * 10_000]),
)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(query=texts, order=st.sampled_from(["best", "newest"]))
def test_any_text_can_be_searched_for(log: Archive, vocabulary: Lexicon, query: str, order: Order) -> None:
    for result in found(log, vocabulary, query, order):
        quote = result.kept.observation.quote
        marks = marks_in(quote, result.asked, vocabulary)
        assert result.matched
        assert all(0 <= a < b <= len(quote) for a, b in marks)
        assert list(marks) == sorted(marks)
