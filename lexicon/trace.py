"""Why an entry did not match: how far its nearest patterns got in a text."""

from dataclasses import dataclass
from typing import Literal

from lexicon.lexicon import Lexicon
from lexicon.patterns import Stance
from lexicon.tokens import Tokens

Failure = Literal["order", "vetoed", "lacks"]
_MOST = 5


@dataclass(frozen=True, slots=True)
class NearMiss:
    """A pattern that nearly matched. `failure`: its words stand too far apart or in another order; an `unless` of the
    entry matched beside it; or it lacks one word, of which `lacking` gives some."""

    id: str
    pattern: str
    failure: Failure
    lacking: tuple[str, ...] = ()


def near_misses(
    lexicon: Lexicon, tokens: Tokens, first: int, last: int, found: set[str], stance: Stance | None
) -> list[NearMiss]:
    """The nearest misses in tokens[first:last] among entries that are not in `found`, at most one an entry."""
    words = {*tokens.forms[first:last], *tokens.lemmas[first:last]}
    best: dict[str, tuple[int, NearMiss]] = {}
    for entry in lexicon.entries.values():
        if entry.id in found:
            continue
        for text in entry.say:
            pattern = lexicon.compile(text)
            missing = [needed for needed in pattern.needed if needed.isdisjoint(words)]
            if len(pattern.needed) < 2 or len(missing) > 1 or (missing and len(pattern.needed) < 3):
                continue
            if missing:
                miss = NearMiss(entry.id, text, "lacks", tuple(sorted(missing[0])[:4]))
            elif any(True for _ in pattern.find(tokens, first, last, stance)):
                miss = NearMiss(entry.id, text, "vetoed")
            else:
                miss = NearMiss(entry.id, text, "order")
            rank = (miss.failure != "lacks") * 10 + len(pattern.needed)
            if entry.id not in best or rank > best[entry.id][0]:
                best[entry.id] = (rank, miss)
    ranked = sorted(best.values(), key=lambda item: (-item[0], item[1].id))
    return [miss for _, miss in ranked[:_MOST]]
