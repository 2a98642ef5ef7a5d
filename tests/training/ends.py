"""Learn by which words a sentence ends: `ends.py OUT.npz`, from the texts of the work, train and added reviews.

A place is any word with a mark. The sentences that the hearing benchmark speaks are left out.
"""

import re
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

import numpy as np
from gold import Gold, read_split
from scipy.sparse import csr_matrix
from sklearn.linear_model import LogisticRegression
from speech_sound import recordings

from notes.speech.ends import plain, signs

_MARK = re.compile(r"[.?!,;:—–-]['\"”’)]*$")
_END = re.compile(r"[.?!]['\"”’)]*$")
# Signs seen less often, or of less weight, are left out.
_SEEN, _WEIGHT = 3, 0.04
_REGULARITY = 0.3


def main() -> None:
    """Write the signs and their weights; the bias goes by the empty sign."""
    spoken = {line for recording in recordings() for line in recording.lines}
    told = [
        place for split in ("work", "train", "added") for gold in read_split(split) for place in _places(gold, spoken)
    ]
    seen = Counter(sign for found, _ in told for sign in found)
    columns = {sign: i for i, sign in enumerate(s for s, count in seen.items() if count >= _SEEN)}
    cells = [(row, columns[sign]) for row, (found, _) in enumerate(told) for sign in found if sign in columns]
    matrix = csr_matrix((np.ones(len(cells)), tuple(zip(*cells, strict=True))), shape=(len(told), len(columns)))
    model = LogisticRegression(C=_REGULARITY, max_iter=500).fit(matrix, [ends for _, ends in told])
    weights = {"": model.intercept_[0]} | dict(zip(columns, model.coef_[0], strict=True))
    kept = {sign: weight for sign, weight in weights.items() if abs(weight) >= _WEIGHT}
    np.savez_compressed(sys.argv[1], signs=np.array(list(kept)), weights=np.array(list(kept.values()), np.float16))
    print(f"{len(told)} places, {len(kept)} signs")


def _places(gold: Gold, spoken: set[str]) -> Iterator[tuple[list[str], bool]]:
    """Signs of each place of a review where a sentence may end, and whether one does."""
    names = frozenset(name.lower() for name in gold.sheet.names)
    cues = gold.transcript.segments
    if not any(_END.search(cue.text) for cue in cues):
        return
    for left_out, run in groupby(cues, lambda cue: cue.text in spoken):
        if not left_out:
            yield from _of_words(" ".join(cue.text for cue in run).split(), names)


def _of_words(words: Sequence[str], names: frozenset[str]) -> Iterator[tuple[list[str], bool]]:
    told = [plain(word, names) for word in words]
    marked = [i for i, word in enumerate(words[:-1]) if _MARK.search(word)]
    start = 0
    for at, following in pairwise([*marked, len(words) - 1]):
        ends = bool(_END.search(words[at]))
        yield list(signs(told, start, at, following)), ends
        if ends:
            start = at + 1


if __name__ == "__main__":
    main()
