"""Whether a recording is spoken in English, the one language that there is a vocabulary for."""

from pathlib import Path
from typing import TYPE_CHECKING

from notes.errors import BadRecording
from notes.speech.audio import RATE_HZ, Samples

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

_NEEDED_S = 10
_LISTENED_S = 30
# So many times as likely as English must another language be. French, German and Spanish by espeak-ng are 16 to 660
# times, by processor; English in an accent of one of them or of Polish is taken for English, or for Latin, which nobody
# coaches in.
_TIMES = 8
_ACCENTED = ("en", "la")


def check_english(model: "WhisperModel", samples: Samples, path: Path) -> bool:
    """Whether the question is settled; False where there is too little clear speech to tell.

    Costs one encoding of up to 30 s. A model for English alone cannot tell, so that all is taken for English.
    Raises BadRecording where 10 s of speech or more are clearly in another language.
    """
    if not model.model.is_multilingual:
        return True
    import numpy as np
    from faster_whisper.vad import get_speech_timestamps

    talk = np.concatenate([samples[:0], *(samples[s["start"] : s["end"]] for s in get_speech_timestamps(samples))])
    if len(talk) < _NEEDED_S * RATE_HZ:
        return False
    language, chance, chances = model.detect_language(talk[: _LISTENED_S * RATE_HZ])
    if language not in _ACCENTED and chance >= _TIMES * dict(chances)["en"]:
        raise BadRecording(
            f'"{path}" is spoken in another language (it sounds like "{language}"); '
            "there is a vocabulary for English alone, so give a review in English"
        )
    return True
