"""The owner's vocabulary file: an entry is added to it whole, or the file stays as it is."""

import tempfile
from pathlib import Path
from typing import Any

import yaml

from lexicon.check import check_entry
from lexicon.entries import Entry
from lexicon.errors import LexiconError
from lexicon.lexicon import load
from lexicon.misheard import write_whole


def add_entry(path: Path, entry: dict[str, Any]) -> Entry:
    """Add an entry, as it stands in YAML, behind those in the owner's file; the entry as the vocabulary then has it.

    Its examples are run first. Raises LexiconError for what cannot be read, an id that stands in the file already,
    and an example that is not read as it says; nothing is written then.
    """
    try:
        old = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        old = ""
    except (OSError, UnicodeDecodeError) as error:
        raise LexiconError(f'Cannot read the vocabulary "{path}" ({error}); it must be a UTF-8 text') from None
    load(path)  # a file that is wrong already is named as it is
    written = yaml.safe_dump([entry], sort_keys=False, allow_unicode=True, width=110)
    new = f"{old.rstrip()}\n{written}" if old.strip() else written
    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / path.name
        trial.write_text(new, encoding="utf-8")
        try:
            lexicon = load(trial)
        except LexiconError as error:
            raise LexiconError(str(error).replace(f"{trial}:", f"{path}:")) from None
    added = lexicon.entries[entry["id"]]
    if wrong := check_entry(lexicon, added):
        raise LexiconError(f"Not added: {wrong[0]}; change the wording or the example")
    write_whole(path, new)
    return added
