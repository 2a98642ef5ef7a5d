"""Look after the vocabulary: run every example of every entry."""

from lexicon.entries import Entry
from lexicon.lexicon import Lexicon
from lexicon.patterns import Stance
from lexicon.tokens import tokenize

_SOUTHPAW = "southpaw:"


def check(lexicon: Lexicon) -> list[str]:
    """One line for each example that is not read as its entry says, and each fix that no fault names."""
    lexicon.compile_all()
    faults = [fault for entry in lexicon.entries.values() for fault in check_entry(lexicon, entry)]
    named = {fix for entry in lexicon.of_sort("fault") for fix in entry.fixes}
    faults += [f"{fix.id}: no fault names this fix" for fix in lexicon.of_sort("fix") if fix.id not in named]
    return faults


def check_entry(lexicon: Lexicon, entry: Entry) -> list[str]:
    """One line for each example of one entry that is not read as it says."""
    missed = [f'{entry.id}: not found in its own example "{e}"' for e in entry.hits if not _finds(lexicon, entry, e)]
    return missed + [f'{entry.id}: wrongly found in "{e}"' for e in entry.misses if _finds(lexicon, entry, e)]


def _finds(lexicon: Lexicon, entry: Entry, example: str) -> bool:
    stance: Stance = "orthodox"
    if example.startswith(_SOUTHPAW):
        stance, example = "southpaw", example.removeprefix(_SOUTHPAW)
    tokens, _ = lexicon.respell(tokenize(example))
    sport = entry.sports[0] if entry.sports else None
    return any(hit.id == entry.id for hit in lexicon.find_entries(tokens, 0, len(tokens), stance, sport))
