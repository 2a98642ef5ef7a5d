"""Loudness against the signals of EBU Tech 3341 (values and the tolerance of .1 LU from memory), and levelling."""

from pathlib import Path

import numpy as np
import pytest
from films import tone, write_counted
from sounds import write_wav

from notes.report.sound import Part, levelled, measure, mixed, sound_of


@pytest.mark.parametrize(
    ("steps", "loudness"),
    [
        # (dBFS, seconds) of a 1 kHz sine in both channels: EBU Tech 3341, cases 1 to 5.
        ([(-23, 20)], -23.0),
        ([(-33, 20)], -33.0),
        ([(-36, 10), (-23, 60), (-36, 10)], -23.0),
        ([(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)], -23.0),
        ([(-26, 20), (-20, 20.1), (-26, 20)], -23.0),
    ],
)
def test_the_meter_reads_the_signals_of_the_standard(steps: list[tuple[float, float]], loudness: float) -> None:
    signal = np.concatenate([tone(seconds, level) for level, seconds in steps], axis=1)

    assert measure(signal)[0] == pytest.approx(loudness, abs=0.1)


def _bag_work() -> np.ndarray:
    """Blows: short loud knocks over a faint room; peaks stand far above the loudness."""
    rng = np.random.default_rng(3)
    out = rng.normal(0, 0.002, (2, 48_000 * 8)).astype(np.float32)
    for at in range(24_000, 48_000 * 8 - 9_600, 40_000):
        out[:, at : at + 2_400] += tone(0.05, -8, hertz=180) * np.linspace(1, 0, 2_400, dtype=np.float32)
    return out


@pytest.mark.parametrize(
    "sound",
    [tone(10, -50), tone(10, -3), tone(0.3, -30), tone(3.337, -30), _bag_work()],
    ids=["faint", "loud", "shorter than a gating block", "no whole tenths", "blows"],
)
def test_any_sound_is_brought_to_the_level_of_ebu_r128_with_peaks_under_it(sound: np.ndarray) -> None:
    """EBU R 128: -23 LUFS, here within 1 LU, and true peaks of at most -1 dBTP."""
    loudness, peak = measure(levelled(sound))

    assert loudness == pytest.approx(-23, abs=1)
    assert peak <= -1


def test_silence_is_left_silent() -> None:
    assert not levelled(np.zeros((2, 48_000), np.float32)).any()
    assert measure(levelled(tone(5, -75)))[0] < -60


def test_the_voice_stands_above_the_gym(tmp_path: Path) -> None:
    """Narration of 440 Hz over footage of 2 kHz that was recorded much louder."""
    footage = write_counted(tmp_path / "footage.mp4", 150, sound=tone(6, -6, hertz=2000))
    narration = write_wav(tmp_path / "voice.wav", tone(6, -30, hertz=440, channels=1)[0], 48_000)

    heard = mixed((Part(narration, 1_000, 5_000, 0, voice=True), Part(footage, 1_000, 5_000, 0, voice=False)), 4_000)

    assert heard is not None and measure(heard)[0] == pytest.approx(-23, abs=1)
    spectrum = np.abs(np.fft.rfft(heard[0]))
    voice, gym = spectrum[440 * 4], spectrum[2000 * 4]
    assert 20 * np.log10(voice / gym) > 9


def test_sound_is_found_at_its_sample(tmp_path: Path) -> None:
    """A click at 2.5 s of a WAV file is half a second into what is read from 2 s on."""
    samples = np.zeros(4 * 16_000, np.float32)
    samples[40_000] = 1
    wav = write_wav(tmp_path / "click.wav", samples)

    heard = sound_of(wav, 2_000, 3_000)

    assert heard is not None and heard.shape == (2, 48_000)
    assert int(np.abs(heard[0]).argmax()) == pytest.approx(24_000, abs=3)


def test_what_lies_past_the_end_is_silence(tmp_path: Path) -> None:
    wav = write_wav(tmp_path / "short.wav", tone(1, -20, channels=1)[0], 48_000)

    heard = sound_of(wav, 500, 2_000)

    assert heard is not None and heard.shape == (2, 72_000)
    assert np.abs(heard[:, :23_000]).max() > 0.05 and not heard[:, 25_000:].any()
