"""Pictures of a moment: the frame that is on the screen then."""

from pathlib import Path

import av
import numpy as np
import pytest
from made_notes import note
from PIL import Image

from notes.report.pictures import frame_at, pictures_of


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four seconds at 10 frames a second: each second one shade of grey, 40, 80, 120, 160; a keyframe every 3 s."""
    path = tmp_path_factory.mktemp("film") / "bout.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=10, options={"g": "30"})
        stream.width, stream.height, stream.pix_fmt = 128, 72, "yuv420p"
        for number in range(40):
            picture = np.full((72, 128, 3), 40 * (number // 10 + 1), dtype=np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        container.mux(stream.encode())
    return path


@pytest.mark.parametrize(("at_ms", "grey"), [(0, 40), (950, 40), (1_000, 80), (2_500, 120), (3_900, 160), (9_000, 160)])
def test_the_frame_is_the_one_shown_at_that_time(footage: Path, tmp_path: Path, at_ms: int, grey: int) -> None:
    data = frame_at(footage, at_ms)

    assert data
    (tmp_path / "p.jpg").write_bytes(data)
    assert abs(float(np.asarray(Image.open(tmp_path / "p.jpg")).mean()) - grey) < 4


def test_no_picture_where_footage_or_time_is_missing(footage: Path, tmp_path: Path) -> None:
    from dataclasses import replace

    (tmp_path / "not.mp4").write_text("no film")
    seen = replace(note("hands-low", at_s=2), footage=str(footage))
    without = [
        note("hands-low", at_s=1),
        replace(note("hands-low", at_s=3), footage=str(tmp_path / "gone.mp4")),
        replace(note("hands-low", at_s=4), footage=str(tmp_path / "not.mp4")),
        replace(note("hands-low", at_s=None), footage=str(footage)),
    ]

    found = pictures_of([seen, *without])

    assert list(found) == [seen.observation.id]
    assert found[seen.observation.id].alt == "The moment on the footage: round 1, 0:02"
