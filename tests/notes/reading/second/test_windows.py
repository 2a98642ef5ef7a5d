from hypothesis import given
from hypothesis import strategies as st
from reviews import sheet, talk

import lexicon
from notes.reading.second.windows import heading, sentences, windows
from notes.reading.talk import read_talk

LENGTHS = st.lists(st.integers(1, 80), max_size=60)


@given(LENGTHS)
def test_every_sentence_is_judged_once_and_in_order(lengths: list[int]) -> None:
    judged = [i for window in windows(lengths, 100, 20) for i in range(window.kept_first, window.kept_last)]

    assert judged == list(range(len(lengths)))


@given(LENGTHS)
def test_a_window_holds_no_more_than_its_room(lengths: list[int]) -> None:
    for window in windows(lengths, 100, 20):
        assert sum(lengths[window.first : window.last]) <= 100


def test_there_is_talk_around_what_is_judged() -> None:
    inner = list(windows([10] * 40, 100, 20))[1:-1]

    assert all(w.kept_first - w.first >= 2 and w.last - w.kept_last >= 2 for w in inner)


def test_people_go_by_the_names_of_their_parts(vocabulary: lexicon.Lexicon) -> None:
    facts = sheet()
    said = talk(f"{facts.athletes[0].name} jabs and {facts.opponent.name if facts.opponent else ''} slips.")

    assert sentences(read_talk(said, vocabulary, facts.names), facts)[0].endswith("sam jabs and chris slips.")
    assert heading(facts) == f"{facts.sport} {facts.narration}"
