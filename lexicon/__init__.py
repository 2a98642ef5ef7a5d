"""The vocabulary of striking and grappling: what is said, and what it means. Knows nothing of `notes`."""

from lexicon.check import check
from lexicon.entries import Entry
from lexicon.errors import LexiconError
from lexicon.lexicon import Hit, Lexicon, load
from lexicon.trace import NearMiss, near_misses

__all__ = ["Entry", "Hit", "Lexicon", "LexiconError", "NearMiss", "check", "load", "near_misses"]
