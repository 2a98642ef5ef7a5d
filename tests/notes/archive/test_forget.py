"""Forgetting, checked on the bytes that are left on disk."""

import json
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from kill import traces
from reviews import sheet, talk
from test_archive import DAY, add

from lexicon import Lexicon
from notes.archive import forget as module
from notes.archive import leftovers
from notes.archive.archive import Archive
from notes.archive.backup import make_backup
from notes.archive.copies import new_copy, remember_copy
from notes.archive.forget import forget, preview
from notes.archive.people import now
from notes.archive.rows import insert
from notes.archive.search import Filters, search
from notes.archive.somebody import somebody
from notes.errors import UnknownAthlete
from notes.extract import read
from notes.narrating import begin, unfinished
from notes.sheet import Person
from notes.speech.transcripts import transcript_json

BOTH = {"athletes": [{"name": "Mara Lind", "aliases": ["Momo"]}, {"name": "Nora"}]}
ALONE = {"athletes": [{"name": "Mara Lind", "aliases": ["Momo"]}]}
AGAINST = {"athletes": [{"name": "Nora"}], "opponent": {"name": "Mara Lind"}}
TRACES = ("mara", "lind", "momo", "tramlines", "asleep at the wheel", "zeppelin", "gondola")


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.setattr(leftovers, "cache_folder", lambda: folder)
    return folder


@pytest.fixture
def season(home: Path, vocabulary: Lexicon) -> Path:
    """Mara alone, Mara with Nora, and Nora against Mara."""
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "Your head stayed on the tramlines.", "A zeppelin.", facts=sheet(**ALONE))
        facts = sheet(**BOTH)
        heard = talk("Momo, your hands are low, asleep at the wheel.", "Nora, you're leaning back, not like Mara.")
        reading = read(heard, facts, vocabulary, "mara-and-nora.vtt", "two")
        archive.add(reading, facts, DAY, Path("clips/mara.mp4"), transcript_json(heard))
        add(archive, vocabulary, "three", "Mara Lind lands because your chin is in the air.", facts=sheet(**AGAINST))
    return home


def forget_mara(home: Path, vocabulary: Lexicon) -> module.Gone:
    with Archive(home) as archive:
        gone, overwritten = forget(archive, somebody(archive, "Momo"))
    assert overwritten
    return gone


def test_no_byte_of_the_person_is_left(season: Path, cache: Path, vocabulary: Lexicon) -> None:
    assert {trace.split(": ")[1] for trace in traces(season, *TRACES)} >= {"mara", "momo", "tramlines", "zeppelin"}
    (cache / "heard" / "abc").mkdir(parents=True)
    (cache / "heard" / "abc" / "0000.json").write_text("Mara")
    (cache / "whisper-base-1").mkdir()
    (season / "clips").mkdir()
    (season / "clips" / "mara_lind-0107.mp4").write_bytes(b"video")
    make_backup(season, new_copy(season, "before-restore", ".zip"))

    forget_mara(season, vocabulary)

    assert traces(season, *TRACES) == traces(cache, *TRACES) == []
    assert not (season / "clips" / "mara_lind-0107.mp4").exists()
    assert (cache / "whisper-base-1").exists()
    assert not list((season / "backups").iterdir())


def test_what_others_share_stays_theirs(season: Path, vocabulary: Lexicon) -> None:
    gone = forget_mara(season, vocabulary)

    assert (gone.recordings, gone.shared) == (["one.vtt"], ["mara-and-nora.vtt", "three.vtt"])
    with Archive(season) as archive:
        noras = sorted(
            archive.observations_of(archive.athlete("Nora")), key=lambda kept: kept.recording_sha256, reverse=True
        )
        shared = archive.db.execute("SELECT name, sheet, transcript FROM recording ORDER BY name").fetchall()
        found = search(archive, vocabulary, "leaning back", Filters(), 5)
    assert [k.observation.quote for k in noras] == [
        "Nora, you're leaning back, not like (forgotten).",
        "(forgotten) lands because your chin is in the air.",
    ]
    assert [r.kept.observation.id for r in found] == [noras[0].observation.id]
    assert [row["name"] for row in shared] == ["(forgotten)-and-nora.vtt", "three.vtt"]
    assert [a["name"] for a in json.loads(shared[0]["sheet"])["athletes"]] == ["Nora"]
    assert json.loads(shared[1]["sheet"])["opponent"] == {"name": "(forgotten)"}
    said = [s["text"] for s in json.loads(shared[0]["transcript"])["segments"]]
    assert said == ["(forgotten).", "Nora, you're leaning back, not like (forgotten)."]


def test_verdicts_on_the_person_go_and_those_on_others_stay(season: Path, vocabulary: Lexicon) -> None:
    with Archive(season) as archive:
        for entry in archive.db.execute("SELECT * FROM entry WHERE recording = 'two'").fetchall():
            seen = {k: entry[k] for k in entry.keys() if k not in ("number", "day", "person")}  # noqa: SIM118
            values = {
                "thread": entry["number"], "recording": "two", "added": 0, "state": "kept", "quote": entry["quote"],
                "seen": json.dumps(seen), "changes": "{}", "made_by": "Imre", "made_at": now(),
                "why": "Mara agreed, gondola" if entry["athlete"] == "Mara Lind" else "unlike Mara",
            }  # fmt: skip
            insert(archive.db, "verdict", values)
        archive.rebuild()

    gone = forget_mara(season, vocabulary)

    with Archive(season) as archive:
        left = archive.db.execute("SELECT why, quote FROM verdict").fetchall()
        (nora,) = archive.observations_in("two")
    assert gone.verdicts == 1
    assert [tuple(row) for row in left] == [("unlike (forgotten)", "Nora, you're leaning back, not like (forgotten).")]
    assert nora.verdict == "kept"
    assert traces(season, *TRACES) == []


def test_a_preview_tells_what_goes_and_changes_nothing(season: Path, vocabulary: Lexicon) -> None:
    with Archive(season) as archive:
        before = list(archive.db.iterdump())
        told = preview(archive, somebody(archive, "Mara Lind"))
        assert list(archive.db.iterdump()) == before

    assert told == forget_mara(season, vocabulary)
    assert told.entries == 2


@pytest.mark.parametrize("stopped_at", ["leftovers.remove", "_take_out", "scrub"])
def test_a_forget_that_was_stopped_goes_on(
    season: Path, vocabulary: Lexicon, stopped_at: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as stopped:
        stopped.setattr(f"notes.archive.forget.{stopped_at}", stop)
        with Archive(season) as archive, pytest.raises(KeyboardInterrupt):
            forget(archive, somebody(archive, "Mara Lind"))

    if stopped_at == "scrub":
        Archive(season).db.close()
    else:
        forget_mara(season, vocabulary)

    assert traces(season, *TRACES) == []


def test_another_process_in_the_way_is_told_and_made_good_later(
    season: Path, vocabulary: Lexicon, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Archive(season) as archive:
        archive.db.execute("PRAGMA busy_timeout = 100")
        with Archive(season) as other:
            other.db.execute("BEGIN")
            other.db.execute("SELECT * FROM recording").fetchone()
            _, overwritten = forget(archive, somebody(archive, "Mara Lind"))
            other.db.execute("COMMIT")
    assert not overwritten

    Archive(season).db.close()

    assert traces(season, *TRACES) == []


def test_the_command_asks_and_tells_what_is_beyond_its_reach(
    tapeside_in: Callable[..., tuple[int, str]], season: Path, vocabulary: Lexicon, tmp_path: Path
) -> None:
    make_backup(season, tmp_path / "club.zip")
    remember_copy(season, tmp_path / "club.zip")
    (season / "misheard.yaml").write_text("# words\nMorra: Mara\n")

    code, said = tapeside_in("forget", "Mara Lind", answer="n\n")
    assert code == 1 and "Nothing was changed" in said
    code, said = tapeside_in("forget", "Mara Lind", answer="y\n")

    assert code == 0
    assert re.search(r"recordings of theirs alone \(1\): one.vtt", said)
    assert str(tmp_path / "club.zip") in said.split("Beyond reach")[1]
    assert "misheard.yaml:2" in said and "mara-and-nora.vtt" in said
    assert tapeside_in("forget", "Mara Lind", answer="")[0] == 2


@pytest.fixture
def tapeside_in(home: Path) -> Callable[..., tuple[int, str]]:
    from click.testing import CliRunner

    from notes.cli import app
    from notes.errors import TapesideError

    def run(*words: str, answer: str) -> tuple[int, str]:
        done = CliRunner().invoke(app, ["--home", str(home), *words], input=answer)
        return (2 if isinstance(done.exception, TapesideError) else done.exit_code), done.output

    return run


RIVAL = {"athletes": [{"name": "Nora"}], "opponent": {"name": "Tilda Quist", "aliases": ["Quisty"]}}


@pytest.mark.parametrize("called", ["Tilda Quist", "quisty"])
def test_who_was_only_ever_an_opponent_is_forgotten_by_name(home: Path, vocabulary: Lexicon, called: str) -> None:
    said = ("Quisty lands because your chin is in the air.", "Quisty is leaning back, a zeppelin.", "Tilda smiles.")
    with Archive(home) as archive:
        add(archive, vocabulary, "one", *said, facts=sheet(**RIVAL))
        before = len(archive.observations_of(archive.athlete("Nora")))
        assert [k for k in archive.observations_in("one") if k.observation.role == "opponent"]
    assert traces(home, "tilda", "quist", "zeppelin")

    with Archive(home) as archive:
        gone, overwritten = forget(archive, somebody(archive, called))

    assert overwritten and (gone.recordings, gone.shared) == ([], ["one.vtt"])
    assert traces(home, "tilda", "quist", "zeppelin") == []
    with Archive(home) as archive:
        noras = archive.observations_of(archive.athlete("Nora"))
        assert not [k for k in archive.observations_in("one") if k.observation.role == "opponent"]
        with pytest.raises(UnknownAthlete, match="Nobody called"):
            somebody(archive, "Quisty")
    assert before == len(noras) > 0


def test_an_alias_of_two_opponents_is_asked_about(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        for name in ("Devon", "Dexter"):
            facts = sheet(athletes=[{"name": "Nora"}], opponent={"name": name, "aliases": ["Dee"]})
            add(archive, vocabulary, name, "You're leaning back.", facts=facts)
        with pytest.raises(UnknownAthlete, match="Devon or Dexter"):
            somebody(archive, "Dee")
        with pytest.raises(UnknownAthlete, match='did you mean "Dexter"'):
            somebody(archive, "Dextre")


def test_unfinished_narrations_go_or_lose_the_name(season: Path, vocabulary: Lexicon) -> None:
    """Those of the person alone go whole; in those of others, sheets and file names are without them."""
    for name, facts in {"a" * 12: ALONE, "b" * 12: BOTH, "c" * 12: AGAINST}.items():
        narration = begin(season, sheet(**facts), name)
        narration.keep(1, 0, 16_000, b"\0\0" * 16_000, "[]")
        (narration.folder / "footage").mkdir()
        (narration.folder / "footage" / "Mara Lind.mp4").write_bytes(b"film")
        for folder, made in (("recordings", f"{DAY}-{name}.flac"), ("footage", f"{name}-Mara Lind.mp4")):
            (season / folder).mkdir(exist_ok=True)
            (season / folder / made).write_bytes(b"sound")

    forget_mara(season, vocabulary)

    assert traces(season, *TRACES) == []
    left = {narration.id: narration for narration in unfinished(season)}
    assert set(left) == {"b" * 12, "c" * 12}
    assert left["b" * 12].sheet.names == ("Nora", "Devon")
    assert left["c" * 12].sheet.opponent == Person(name="(forgotten)")
    assert [n.footage and n.footage.name for n in left.values()] == ["(forgotten).mp4"] * 2
    assert not list(season.rglob("*aaaaaa*")) and len(list(season.glob("footage/*"))) == 2


def test_footage_given_at_the_desk_stays_for_others_under_another_name(home: Path, vocabulary: Lexicon) -> None:
    (home / "footage").mkdir(parents=True)
    film = home / "footage" / "abc-Mara Lind at the gym.mp4"
    film.write_bytes(b"film")
    facts, heard = sheet(**AGAINST), talk("You're leaning back.")
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "Your chin is up.", facts=sheet(**ALONE))
        reading = read(heard, facts, vocabulary, "two.vtt", "two")
        archive.add(reading, facts, DAY, film.resolve(), transcript_json(heard))

    forget_mara(home, vocabulary)

    with Archive(home) as archive:
        kept = archive.recording("two")
    assert kept and kept.footage and kept.footage.name == "abc-(forgotten) at the gym.mp4"
    assert kept.footage.read_bytes() == b"film"
    assert traces(home, "mara", "lind") == []


def test_nobody_else_is_touched(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "You're leaning back.", facts=sheet(athletes=[{"name": "Nora"}]))
        add(archive, vocabulary, "two", "You're leaning back.", facts=sheet(athletes=[{"name": "Elke"}]))
        before = archive.db.execute("SELECT * FROM entry WHERE recording = 'one'").fetchall()
        forget(archive, somebody(archive, "Elke"))
        assert archive.db.execute("SELECT * FROM entry WHERE recording = 'one'").fetchall() == before

    with sqlite3.connect(home / "tapeside.db") as db:
        assert db.execute("SELECT name FROM person").fetchall() == [("Nora",)]
