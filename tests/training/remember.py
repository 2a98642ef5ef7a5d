"""Write the corpus sentences by which the second reader explains itself: `remember.py OUT.npz`."""

import sys

import numpy as np
from gold import read_split

import lexicon
from notes.reading.second.reader import KINDS, second_reader
from notes.reading.talk import read_talk


def main() -> None:
    """Every marked beginning of the work, train and added reviews that stands alone in its cue."""
    vocabulary = lexicon.load()
    reader = second_reader(vocabulary)
    assert reader
    kinds, vectors, texts, labels = [], [], [], []
    for gold in (g for split in ("work", "train", "added") for g in read_split(split)):
        talk = read_talk(gold.transcript, vocabulary, gold.sheet.names)
        judged = reader.judge(talk, gold.sheet)
        for mark in gold.marks:
            at = [s for s in talk.sentences if s.start_ms == mark.start_ms]
            if len(at) != 1:
                continue
            k = KINDS.index(mark.kind)
            ids = [min(choice - {"none"}, default="") for choice in (*mark.faults, *mark.techniques)]
            kinds.append(k)
            vectors.append(np.round(judged.about(at[0].index, k) * 127))
            texts.append(talk.quote(at[0], at[0]))
            labels.append(", ".join(filter(None, ids)) or mark.kind)
    np.savez_compressed(
        sys.argv[1],
        kinds=np.array(kinds, np.int8),
        vectors=np.array(vectors, np.int8),
        texts=np.array(texts),
        labels=np.array(labels),
    )
    print(f"{len(texts)} sentences")


if __name__ == "__main__":
    main()
