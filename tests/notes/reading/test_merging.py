import numpy as np
from gold import CORPUS, read_gold
from reviews import sheet, talk

from lexicon import Lexicon
from notes.reading.joining import Joiner
from notes.reading.merging import Merger, Weights
from notes.reading.observations import read_review
from notes.reading.people import Person
from notes.reading.remarks import read_remarks
from notes.reading.second.reader import KINDS, Judgement, SecondReader
from notes.reading.talk import read_talk

NAMED = dict.fromkeys(
    ("fault drafted", "fault mentioned", "technique drafted", "technique mentioned", "fix drafted"), 1.0
)
WEIGHTS = Weights(0.0, {}, NAMED | {"fix least": 0.0}, 0.5)


def merger(
    second: SecondReader, vocabulary: Lexicon, *said: str, begins: dict[tuple[int, str], float]
) -> tuple[Merger, list]:
    """The merger of a talk in which the second reader hears just these beginnings, and the first reader's drafts."""
    facts, n = sheet(), len(said)
    remarks = read_remarks(read_talk(talk(*said), vocabulary, facts.names), facts, vocabulary)
    chances = np.zeros((n, len(KINDS)), np.float32)
    for (place, kind), chance in begins.items():
        chances[place, KINDS.index(kind)] = chance
    none = np.zeros((n, len(KINDS)), np.float32)
    ids = {sort: len(names) for sort, names in second.ids.items()}
    judged = Judgement(
        chances,
        none,
        none[:, 0],
        np.full((n, ids["fault"]), -4.0, np.float32),
        np.full((n, len(KINDS), ids["technique"]), -4.0, np.float32),
        np.zeros((n, 2, ids["fix"]), np.float32),
        among_faults=none,
        among_techniques=none,
        pooled=none,
    )
    athletes = (Person("Mara", "athlete"),)
    return Merger(second, judged, remarks, athletes, WEIGHTS), Joiner(vocabulary, facts, remarks).read()


def test_both_readers_of_one_moment_make_one_observation(vocabulary: Lexicon, second: SecondReader) -> None:
    both, drafts = merger(second, vocabulary, "You're leaning back.", begins={(0, "fault"): 0.9})

    (candidate,) = both.candidates(drafts)
    (draft,) = both.merge(drafts)
    assert candidate.draft and candidate.sentence == 0
    assert draft.faults == ["leaning-back"]


def test_a_fault_told_on_in_the_next_sentence_is_one(vocabulary: Lexicon, second: SecondReader) -> None:
    begins = {(place, "fault"): 0.9 for place in range(2)}
    told_on, drafts = merger(second, vocabulary, "You're leaning back.", "You lean back, all of you.", begins=begins)
    again, two = merger(second, vocabulary, "You're leaning back.", "And again, you lean back.", begins=begins)
    again.judged.again[1] = 0.9

    (draft,) = told_on.merge(drafts)
    assert (draft.first, draft.last, draft.faults) == (0, 1, ["leaning-back"])
    assert [(d.first, d.faults) for d in again.merge(two)] == [(0, ["leaning-back"]), (1, ["leaning-back"])]


def test_each_reader_may_speak_alone(vocabulary: Lexicon, second: SecondReader) -> None:
    both, drafts = merger(
        second, vocabulary, "You're leaning back.", "So.", "Well.", "It sits in the pond.", begins={(3, "fault"): 0.8}
    )

    alone = {(c.draft is not None, c.sentence) for c in both.candidates(drafts)}
    assert alone == {(True, None), (False, 3)}


def test_a_faint_beginning_is_no_candidate(vocabulary: Lexicon, second: SecondReader) -> None:
    both, drafts = merger(second, vocabulary, "It sits in the pond.", begins={(0, "fault"): 0.05})

    assert both.candidates(drafts) == []


def test_what_is_unsure_is_offered_and_not_logged(vocabulary: Lexicon, second: SecondReader) -> None:
    reviews = [read_gold(CORPUS / "tune" / f"delta-0{i}.gold.yaml") for i in (1, 2, 3)]
    read = [read_review(g.transcript, g.sheet, vocabulary, second) for g in reviews]

    sure = [o.confidence for r in read for o in r.observations if o.role == "athlete" and o.kind != "welfare"]
    offered = [o.confidence for r in read for o in r.perhaps]
    assert sure and offered
    assert min(sure) > max(offered)
    assert all(0 < c < 1 for c in sure + offered)


def test_a_sign_of_a_knock_is_logged_soon_and_is_no_fault(vocabulary: Lexicon, second: SecondReader) -> None:
    said = (
        "Hm, that knock took something out of you, you went a bit glassy, so we stopped it there and had you checked."
    )

    found = read_review(talk(said), sheet(), vocabulary, second)

    assert [o.kind for o in found.observations] == ["welfare"]
    assert not found.perhaps


def test_what_is_said_to_both_is_logged_for_both(vocabulary: Lexicon, second: SecondReader) -> None:
    facts = sheet(athletes=[{"name": "Mara"}, {"name": "Ilka"}], opponent=None)

    found = read_review(
        talk("Both of you, hands are down by your belts there."), facts, vocabulary, second
    ).observations

    assert sorted(o.athlete for o in found) == ["Ilka", "Mara"]
