"""A person's word on an observation, in a real database."""

from datetime import date
from pathlib import Path

import pytest
from reviews import sheet, talk

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.changes import read_changes
from notes.archive.correcting import add_note, correct, history, undo
from notes.archive.merging import merge, preview_merge, split
from notes.archive.people import login_name
from notes.archive.search import Filters, search
from notes.errors import BadCorrection, UnknownAthlete
from notes.extract import read
from notes.model import Observation, Reading
from notes.sheet import Sheet
from notes.speech.transcripts import transcript_json

SAID = ("Your chin is in the air.", "You're leaning back.", "Lovely long teep.")


def reading_of(vocabulary: Lexicon, *said: str, name: str = "one", facts: Sheet | None = None) -> Reading:
    return read(talk(*said), facts or sheet(), vocabulary, f"{name}.vtt", name)


def add(archive: Archive, vocabulary: Lexicon, *said: str, name: str = "one", facts: Sheet | None = None) -> None:
    facts = facts or sheet()
    reading = reading_of(vocabulary, *said, name=name, facts=facts)
    archive.add(reading, facts, date(2031, 3, 14), None, transcript_json(talk(*said)))


@pytest.fixture
def archive(home: Path, vocabulary: Lexicon) -> Archive:
    archive = Archive(home)
    add(archive, vocabulary, *SAID)
    return archive


def chin(archive: Archive) -> str:
    return next(k.observation.id for k in archive.observations_in("one") if k.observation.faults == ("chin-up",))


def log(archive: Archive, name: str = "Mara") -> list[tuple[str, ...]]:
    return [k.observation.faults or k.observation.techniques for k in archive.observations_of(archive.athlete(name))]


def dump(archive: Archive) -> list[tuple[object, ...]]:
    """Everything that follows from readings and verdicts."""
    entries = archive.db.execute("SELECT * FROM entry ORDER BY recording, id").fetchall()
    columns = [name for name in dict(entries[0]) if name != "number"]
    rows = [tuple(row[name] for name in columns) for row in entries]
    texts = archive.db.execute(
        "SELECT e.recording, e.id, w.words FROM entry_words w JOIN entry e ON e.number = w.place & 0xFFFFFFFF ORDER BY 1, 2"
    )
    return rows + [tuple(row) for row in texts]


def test_struck_is_in_nobodys_log_and_search_but_is_kept(archive: Archive, vocabulary: Lexicon) -> None:
    (struck,) = correct(archive, vocabulary, [chin(archive)], "struck", why="it was Devon's")

    assert struck.verdict == "struck"
    assert ("chin-up",) not in log(archive)
    assert search(archive, vocabulary, "chin up", Filters(), 5) == []
    assert [v.why for v in history(archive, struck.observation.id)] == ["it was Devon's"]


def test_amended_is_found_as_it_was_amended(archive: Archive, vocabulary: Lexicon) -> None:
    changes = read_changes(["fault=Head on centreline", "round=2", "footage=1:15", "again=yes", "why="], vocabulary)
    (kept,) = correct(archive, vocabulary, [chin(archive)[:6]], "amended", changes)

    o = kept.observation
    assert (o.faults, o.round, o.footage_ms, o.again) == (("head-on-centreline",), 2, 75_000, True)
    (found,) = search(archive, vocabulary, "head on centreline", Filters(), 5)
    assert found.kept == kept and kept.verdict == "amended"
    (verdict,) = history(archive, o.id)
    assert (verdict.by, verdict.state) == (login_name(), "amended")


def test_what_is_said_later_is_added_to_what_was_amended_before(archive: Archive, vocabulary: Lexicon) -> None:
    read = archive.observations([chin(archive)])[chin(archive)].observation
    correct(archive, vocabulary, [chin(archive)], "amended", {"round": 2})
    (kept,) = correct(archive, vocabulary, [chin(archive)], "amended", {"again": True})
    assert (kept.observation.round, kept.observation.again) == (2, True)

    (kept,) = correct(archive, vocabulary, [chin(archive)], "kept")
    assert (kept.observation.round, kept.observation.again) == (read.round, read.again)


def test_undo_steps_back_word_by_word_and_is_itself_kept(archive: Archive, vocabulary: Lexicon) -> None:
    before = dump(archive)
    wanted = chin(archive)
    correct(archive, vocabulary, [wanted], "amended", {"round": 2})
    correct(archive, vocabulary, [wanted], "struck")

    assert [k.verdict for k in undo(archive, [wanted], by="Zora")] == ["amended"]
    assert [k.verdict for k in undo(archive, [wanted])] == [None]
    with pytest.raises(BadCorrection, match="nothing to undo"):
        undo(archive, [wanted])

    assert [v.state for v in history(archive, wanted)] == ["amended", "struck", "undone", "undone"]
    assert history(archive, wanted)[2].by == "Zora"
    columns = archive.db.execute("UPDATE entry SET thread = NULL").rowcount
    assert columns and dump(archive) == before


def test_several_are_corrected_together_or_not_at_all(archive: Archive, vocabulary: Lexicon) -> None:
    before = dump(archive)
    with pytest.raises(BadCorrection, match='No observation "nothing"'):
        correct(archive, vocabulary, [chin(archive), "nothing"], "struck")

    assert dump(archive) == before and history(archive, chin(archive)) == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("fault=chinup", 'did you mean "chin-up"'),
        ("technique=chin-up", "No technique"),
        ("faul=chin-up", 'did you mean "fault"'),
        ("colour=red", "it is one of athlete, kind"),
        ("round=0", "round=2"),
        ("footage=1:75", "footage=1:15"),
        ("again=perhaps", "yes nor no"),
        ("kind=praise", "fault, strength, advice, welfare"),
        ("chin-up", "fault=head-on-centreline"),
        ("athlete=", "about somebody"),
    ],
)
def test_a_wrong_change_is_answered_with_the_right_one(vocabulary: Lexicon, change: str, said: str) -> None:
    with pytest.raises(BadCorrection, match=said):
        read_changes([change], vocabulary)


def test_whose_it_was_is_known_from_the_sheet_and_the_club(archive: Archive, vocabulary: Lexicon) -> None:
    wanted = chin(archive)
    (kept,) = correct(archive, vocabulary, [wanted], "amended", {"athlete": "devon"})
    assert (kept.observation.athlete, kept.observation.role) == ("Devon", "opponent")
    assert ("chin-up",) not in log(archive)

    with pytest.raises(UnknownAthlete, match='did you mean "Mara"'):
        correct(archive, vocabulary, [wanted], "amended", {"athlete": "Marra"})
    correct(archive, vocabulary, [wanted], "amended", {"athlete": "MARA"})
    assert ("chin-up",) in log(archive)


def test_an_added_note_is_logged_searched_and_outlives_readings(archive: Archive, vocabulary: Lexicon) -> None:
    note = Observation(
        "Mara", "athlete", "fault", (), ("no-setup",), ("set-it-up",), None, None, 1_000, 2_000, None, 1, False,
        "nothing in front of it", 0.0,
    )  # fmt: skip
    kept = add_note(archive, vocabulary, "one", note, by="Zora")
    assert kept.verdict == "amended" and kept.read_as is None
    assert ("no-setup",) in log(archive)

    archive.add_readings([reading_of(vocabulary, *SAID)])
    assert ("no-setup",) in log(archive)
    undo(archive, [kept.observation.id])
    assert ("no-setup",) not in log(archive)
    assert [v.state for v in history(archive, kept.observation.id)] == ["amended", "undone"]


def test_no_word_is_lost_where_a_new_reading_holds_nothing(archive: Archive, vocabulary: Lexicon) -> None:
    first, second, third = (k.observation.id for k in archive.observations_in("one"))
    correct(archive, vocabulary, [first], "kept")
    correct(archive, vocabulary, [second], "struck")
    correct(archive, vocabulary, [third], "amended", {"techniques": ("jab",)})

    archive.add_readings([reading_of(vocabulary, "Right then.")])

    assert log(archive) == [("chin-up",), ("jab",)]
    assert {k.observation.id: k.verdict for k in archive.observations_in("one")} == {
        first: "kept",
        second: "struck",
        third: "amended",
    }
    archive.add_readings([reading_of(vocabulary, *SAID)])
    assert log(archive) == [("chin-up",), ("jab",)]


def test_everything_can_be_made_anew_from_the_rest(archive: Archive, vocabulary: Lexicon) -> None:
    add(archive, vocabulary, "Ines, your chin is in the air.", name="two", facts=sheet(athletes=[{"name": "Ines"}]))
    correct(archive, vocabulary, [chin(archive)], "struck")
    merge(archive, "Ines", "Mara")
    before = dump(archive)
    numbers = [row[0] for row in archive.db.execute("SELECT number FROM entry ORDER BY number")]
    correct(archive, vocabulary, [chin(archive)], "kept")
    correct(archive, vocabulary, [chin(archive)], "struck")
    assert [row[0] for row in archive.db.execute("SELECT number FROM entry ORDER BY number")] == numbers
    assert dump(archive) == before
    archive.db.execute("DELETE FROM entry")
    assert archive.db.execute("SELECT count(*) FROM entry_search").fetchone()[0] == 0

    archive.rebuild()

    assert dump(archive) == before


def test_names_merge_and_split_again(archive: Archive, vocabulary: Lexicon) -> None:
    misspelt = sheet(athletes=[{"name": "Marra", "junior": True}])
    add(archive, vocabulary, "You're leaning back.", name="two", facts=misspelt)
    before = dump(archive)

    gone, stays = preview_merge(archive, "Marra", "Mara")
    assert (gone.person.name, gone.notes, gone.days, stays.notes) == ("Marra", 1, 1, 3)
    assert merge(archive, "Marra", "Mo", by="Imre").name == "Mara"
    assert len(log(archive)) == 4 and archive.athlete("marra").name == "Mara"
    assert archive.athlete("Mara").junior, "who is a junior under any name is one"
    assert {k.observation.athlete for k in archive.observations_in("two")} == {"Mara"}
    with pytest.raises(UnknownAthlete, match="one athlete already"):
        merge(archive, "Mara", "Marra")

    assert split(archive, "Marra").name == "Marra"
    assert dump(archive) == before
    with pytest.raises(UnknownAthlete, match="not merged"):
        split(archive, "Mara")


def test_a_chain_of_mergings_splits_link_by_link(archive: Archive, vocabulary: Lexicon) -> None:
    for name in ("Marra", "Marah"):
        add(archive, vocabulary, "You're leaning back.", name=name, facts=sheet(athletes=[{"name": name}]))
    merge(archive, "Marra", "Marah")
    merge(archive, "Marah", "Mara")
    assert len(log(archive)) == 5

    split(archive, "Marah")
    assert len(log(archive)) == 3 and len(log(archive, "Marra")) == 2
    assert archive.athlete("Marra").name == "Marah"


def test_a_word_follows_its_person_through_a_merging(archive: Archive, vocabulary: Lexicon) -> None:
    add(archive, vocabulary, "You're leaning back.", name="two", facts=sheet(athletes=[{"name": "Marra"}]))
    (wanted,) = (k.observation.id for k in archive.observations_in("two"))
    correct(archive, vocabulary, [wanted], "struck")

    merge(archive, "Marra", "Mara")
    archive.add_readings(
        [reading_of(vocabulary, "You're leaning back.", name="two", facts=sheet(athletes=[{"name": "Marra"}]))]
    )

    assert [(k.observation.athlete, k.verdict) for k in archive.observations_in("two")] == [("Mara", "struck")]
