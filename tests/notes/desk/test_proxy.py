"""Footage as phones shoot it, made playable; times as filmed."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from sounds import write_video

from notes.desk.proxy import make_proxy, plays_in_browsers
from notes.errors import BadRecording


def shot(path: Path, codec: str, *, times_ms: list[int], size: tuple[int, int] = (96, 64)) -> Path:
    """Frames whose brightness grows with their number, shown at the given times."""
    with av.open(str(path), "w") as out:
        picture = out.add_stream(codec, rate=30)
        picture.width, picture.height = size
        picture.pix_fmt = "yuv420p"
        picture.codec_context.time_base = picture.time_base = Fraction(1, 1000)
        for i, ms in enumerate(times_ms):
            level = 40 + 10 * i
            array = np.full((size[1], size[0], 3), level, np.uint8)
            array[:, : size[0] // 2] //= 2
            frame = av.VideoFrame.from_ndarray(array, format="rgb24")
            frame.pts, frame.time_base = ms, picture.codec_context.time_base
            out.mux(picture.encode(frame))
        out.mux(picture.encode(None))
    return path


def frames(path: Path) -> list[tuple[float, float]]:
    """Time in seconds and mean brightness of the right half of each frame."""
    with av.open(str(path)) as video:
        found = [(f.time, f.to_ndarray(format="gray")) for f in video.decode(video=0)]
    return [(time, float(picture[:, picture.shape[1] // 2 :].mean())) for time, picture in found]


@pytest.mark.parametrize(
    ("name", "codec"), [("phone.mp4", "mpeg4"), ("phone.mov", "libx265"), ("phone.mkv", "libx265")]
)
def test_what_browsers_do_not_play_is_copied_with_its_times(tmp_path: Path, name: str, codec: str) -> None:
    times = [0, 40, 80, 160, 400, 433, 900]
    original = shot(tmp_path / name, codec, times_ms=times)
    copy = tmp_path / "copies" / "copy.mp4"
    told: list[float] = []

    assert not plays_in_browsers(original)
    make_proxy(original, copy, told.append)

    assert plays_in_browsers(copy)
    before, after = frames(original), frames(copy)
    assert [t for t, _ in after] == pytest.approx([t for t, _ in before], abs=0.002)
    assert [b for _, b in after] == pytest.approx([b for _, b in before], abs=4)
    assert told == sorted(told)


def test_what_browsers_play_is_left_alone(tmp_path: Path) -> None:
    assert plays_in_browsers(write_video(tmp_path / "plain.mp4", 1, sound=True))


def test_h264_in_mkv_is_only_put_into_another_box(tmp_path: Path) -> None:
    original = write_video(tmp_path / "box.mkv", 2, sound=True)
    copy = tmp_path / "copy.mp4"

    assert not plays_in_browsers(original)
    make_proxy(original, copy, lambda _: None)

    with av.open(str(original)) as before, av.open(str(copy)) as after:
        pictures = [[bytes(p) for p in v.demux(video=0) if p.size] for v in (before, after)]
        assert len(pictures[0]) == len(pictures[1])
        assert after.streams.audio[0].codec_context.name == "aac"
    assert plays_in_browsers(copy)


def test_a_turned_picture_stands_upright(tmp_path: Path) -> None:
    """A phone held upright films lying frames and says how to turn them (ISO/IEC 14496-12, display matrix)."""
    lying = shot(tmp_path / "lying.mp4", "mpeg4", times_ms=[0, 40, 80])
    turned = tmp_path / "turned.mp4"
    data = lying.read_bytes()
    plain = b"".join(v.to_bytes(4, "big") for v in (0x10000, 0, 0, 0, 0x10000, 0, 0, 0, 0x40000000))
    quarter = b"".join(
        (v & 0xFFFFFFFF).to_bytes(4, "big") for v in (0, 0x10000, 0, -0x10000, 0, 0, 64 << 16, 0, 0x40000000)
    )
    place = data.rindex(plain)
    turned.write_bytes(data[:place] + quarter + data[place + 36 :])

    make_proxy(turned, tmp_path / "copy.mp4", lambda _: None)

    with av.open(str(tmp_path / "copy.mp4")) as video:
        picture = next(video.decode(video=0)).to_ndarray(format="gray")
    assert picture.shape == (96, 64)
    # The dark left half of the lying picture is at the top after a quarter turn clockwise.
    assert picture[:40].mean() < picture[56:].mean() - 10


def test_tall_footage_becomes_small_enough_to_play(tmp_path: Path) -> None:
    tall = shot(tmp_path / "tall.mp4", "mpeg4", times_ms=[0, 40, 80], size=(1440, 2162))

    make_proxy(tall, tmp_path / "copy.mp4", lambda _: None)

    with av.open(str(tmp_path / "copy.mp4")) as video:
        frame = next(video.decode(video=0))
    assert (frame.width, frame.height) == (718, 1080)


@pytest.mark.parametrize("content", [b"", b"no video at all" * 100])
def test_no_video_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.mp4"
    path.write_bytes(content)

    with pytest.raises(BadRecording):
        plays_in_browsers(path)
