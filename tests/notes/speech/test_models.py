from pathlib import Path

import pytest

from notes.errors import BadModel
from notes.speech import models


def test_the_packaged_parts_are_joined_once(tmp_path: Path) -> None:
    folder = models.joined_base(tmp_path)
    made = (folder / "model.bin").stat().st_mtime_ns

    assert models.joined_base(tmp_path) == folder
    assert (folder / "model.bin").stat().st_mtime_ns == made
    assert [p.name for p in tmp_path.iterdir()] == [folder.name]


def test_damaged_parts_are_refused_and_leave_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(models, "_BASE_SHA256", "0" * 64)

    with pytest.raises(BadModel, match="damaged"):
        models.joined_base(tmp_path)

    assert list(tmp_path.iterdir()) == []


def test_a_cache_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.touch()

    with pytest.raises(BadModel, match="Cannot keep the speech model"):
        models.joined_base(blocked)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("no-such-model", "No speech model is called"),
        ("/no/such/folder", "No model folder at"),
        ("./x", "No model folder"),
    ],
)
def test_an_unknown_model_is_refused(name: str, told: str) -> None:
    with pytest.raises(BadModel, match=told):
        models.load_model(name)


def test_a_folder_without_a_model_says_what_it_lacks(tmp_path: Path) -> None:
    (tmp_path / "config.json").write_text("{}")

    with pytest.raises(BadModel, match=r"lacks model.bin, tokenizer.json"):
        models.load_model(str(tmp_path))


def test_a_folder_with_rubbish_is_refused_in_one_sentence(tmp_path: Path) -> None:
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (tmp_path / name).write_text("{}")

    with pytest.raises(BadModel, match="Cannot load the speech model") as caught:
        models.load_model(str(tmp_path))

    assert "\n" not in str(caught.value)
