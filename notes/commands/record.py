"""`tapeside record`"""

import queue
import secrets
import threading
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import numpy as np

from notes.archive.archive import Archive
from notes.commands.add import add_recording
from notes.commands.common import (
    first_only_option,
    home_of,
    load_second_reader,
    model_option,
    sheet_option,
)
from notes.errors import TapesideError
from notes.intake import load_lexicon
from notes.narrating import RATE_HZ, Narration, begin, unfinished
from notes.settings import RECORDINGS, make_home
from notes.sheet import Sheet, read_sheet
from notes.times import clock

if TYPE_CHECKING:
    from types import ModuleType


@click.command(name="record")
@sheet_option
@click.option("--device", metavar="D", help="The microphone: its number, or a part of its name.")
@model_option
@first_only_option
@click.pass_context
def command(ctx: click.Context, sheet: Path, device: str | None, model: str, first_reader_only: bool) -> None:
    """Narrate into the microphone; Enter finishes, and the narration is read and kept as by `add`.

    Each second is kept as it is spoken. After Ctrl-C or a crash, the same command goes on with what was said.

    \b
    Example: tapeside record --sheet monday.yaml
    """
    facts = read_sheet(sheet)
    home = make_home(home_of(ctx))
    narration = _narration(home, facts)
    try:
        _speak(narration, device)
    finally:
        if not narration.seconds:
            narration.discard()
    recording = home / RECORDINGS / f"{narration.id}.flac"
    recording.parent.mkdir(mode=0o700, exist_ok=True)
    narration.save_sound(recording)
    with Archive(home) as archive:
        lexicon = load_lexicon(home)
        second = cache(lambda: load_second_reader(lexicon, home, first_only=first_reader_only))
        click.echo(add_recording(archive, recording, sheet, facts, lexicon, second, model))
    narration.discard()


def _narration(home: Path, sheet: Sheet) -> Narration:
    """The narration under this sheet that was not finished, else a new one."""
    for left in unfinished(home):
        if left.sheet == sheet and left.seconds:
            click.echo(f"Going on with what was said before: {clock(round(left.seconds * 1000))}.")
            return left
    return begin(home, sheet, secrets.token_hex(6))


def _speak(narration: Narration, device: str | None) -> None:
    """Keep what the microphone hears, second by second, until Enter is pressed."""
    sounds: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    done = threading.Event()

    def heard(data: Any, frames: int, time: Any, status: Any) -> None:
        sounds.put(bytes(data))

    def wait_for_enter() -> None:
        with suppress(EOFError):
            input()
        done.set()

    sounddevice = _sounddevice()
    take = narration.next_take()
    try:
        stream = sounddevice.RawInputStream(
            samplerate=RATE_HZ,
            channels=1,
            dtype="int16",
            blocksize=RATE_HZ // 10,
            device=_named(device),
            callback=heard,
        )
    except (ValueError, sounddevice.PortAudioError) as error:
        raise TapesideError(f"The microphone cannot be used ({error}); name another with --device") from None
    click.echo("Speak. Enter finishes.")
    threading.Thread(target=wait_for_enter, daemon=True).start()
    number = 0
    with stream:
        while not done.is_set():
            second = b"".join(_next_second(sounds, done))
            if second:
                narration.keep(take, number, RATE_HZ, second, "[]")
                number += 1
                _show(narration.seconds, second)
    click.echo(err=True)


def _next_second(sounds: "queue.SimpleQueue[bytes]", done: threading.Event) -> list[bytes]:
    """Tenths of a second, ten of them or fewer at the end."""
    parts: list[bytes] = []
    while len(parts) < 10:
        try:
            parts.append(sounds.get(timeout=0.2))
        except queue.Empty:
            if done.is_set():
                break
    return parts


def _show(seconds: float, sound: bytes) -> None:
    loudest = int(np.abs(np.frombuffer(sound, "<i2").astype(np.int32)).max(initial=0))
    level = "█" * round(10 * loudest / 32_768)
    click.echo(f"\r{clock(round(seconds * 1000))} {level:<10}", nl=False, err=True)


def _named(device: str | None) -> int | str | None:
    return int(device) if device and device.isdecimal() else device


def _sounddevice() -> "ModuleType":
    try:
        import sounddevice
    except ModuleNotFoundError:
        raise TapesideError("Recording needs sounddevice; install it with: pip install 'tapeside[record]'") from None
    except OSError:
        raise TapesideError("Recording needs PortAudio; install it (Debian: libportaudio2)") from None
    module: ModuleType = sounddevice
    return module
