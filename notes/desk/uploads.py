"""Files that stream in from the browser: written aside, named safely, never more than the disk can bear."""

import os
import re
import shutil
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

from notes.errors import TapesideError

# Left free on the disk, so that the log can still be written.
_SPARE_BYTES = 500_000_000


class BadUpload(TapesideError):
    """A file that cannot be taken."""


async def receive(request: Request, folder: Path, name: str) -> Path:
    """Write a request's body into `folder` under a safe form of `name`; a broken one leaves nothing."""
    length = int(request.headers.get("content-length") or 0)
    folder.mkdir(mode=0o700, exist_ok=True)
    if length + _SPARE_BYTES > shutil.disk_usage(folder).free:
        raise BadUpload("There is not enough room on the disk for this footage; free some space")
    path = folder / safe_name(name)
    unfinished = folder / f".{path.name}"
    try:
        with unfinished.open("wb") as out:
            async for chunk in request.stream():
                await run_in_threadpool(out.write, chunk)
            out.flush()
            await run_in_threadpool(os.fsync, out.fileno())
        if unfinished.stat().st_size == 0 or (length and unfinished.stat().st_size != length):
            raise BadUpload("The footage did not arrive whole; choose it again")
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
    return path


def safe_name(name: str) -> str:
    """A file name without folders, hidden dots or control characters.

    >>> safe_name("../../etc/pass wd.mp4"), safe_name("")
    ('pass wd.mp4', 'footage')
    """
    last = re.split(r"[/\\]", name)[-1]
    kept = re.sub(r"[^\w .()-]", "", last).strip(" .")
    return kept[-100:].lstrip(" .") or "footage"
