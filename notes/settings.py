"""Where tapeside keeps what it keeps."""

import errno
import os
from pathlib import Path

from notes.errors import BadHome

FILE_NAME = "tapeside.db"
OWNER_LEXICON = "lexicon.yaml"
OWNER_MISHEARD = "misheard.yaml"
OWNER_FILES = (OWNER_LEXICON, OWNER_MISHEARD)
# Narrations that are not finished, a folder each with its sheet; finished ones; footage that was given at the desk.
NARRATIONS, NARRATION_SHEET = "narrations", "sheet.yaml"
RECORDINGS = "recordings"
VIDEOS = "footage"
# What the second reader has learned from the club's corrections, and what it had learned before that.
CLUB = "club.npz"
CLUB_BEFORE = "club-before.npz"
CLUB_FILES = (CLUB, CLUB_BEFORE, f"{CLUB}.part")
# The cache holds models under names that begin so; all else in it comes from recordings.
MODEL_PREFIX = "whisper-"
# What the system says when a disk, or what one may use of it, is full.
NO_SPACE = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def find_home(option: Path | None) -> Path:
    """The data home: the `--home` option, else `TAPESIDE_HOME`, else the platform's data folder. Not created."""
    if option is not None:
        return option
    if chosen := os.environ.get("TAPESIDE_HOME"):
        return Path(chosen)
    from platformdirs import user_data_path

    return user_data_path("tapeside", appauthor=False)


def make_home(home: Path) -> Path:
    """Create the home, readable by its owner only. Raises BadHome where that cannot be done."""
    try:
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise BadHome(f'Cannot use "{home}" as the data home ({error.strerror}); choose another with --home') from None
    if not os.access(home, os.W_OK | os.X_OK):
        raise BadHome(f'Cannot write in the data home "{home}"; mend its permissions or choose another with --home')
    return home


def cache_folder() -> Path:
    """Where joined model weights are kept; safe to delete."""
    from platformdirs import user_cache_path

    return user_cache_path("tapeside", appauthor=False)
