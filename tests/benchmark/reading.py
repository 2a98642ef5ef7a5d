"""How fast talk is read: `make bench`.

The first reader's baseline is `spacy.blank("en")` tokenising the same sentences, which is all that reading needs of
spaCy. Of the second reader it is told what it adds to transcribing the demo recording with faster-whisper beside it.
"""

import subprocess
import sys
import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

import spacy
from gold import read_split

import lexicon
from lexicon.tokens import tokenize
from notes.reading.observations import read_observations
from notes.reading.second.reader import second_reader
from notes.reading.talk import read_talk
from notes.sheet import read_sheet
from notes.speech.models import DEFAULT

ROUNDS = 3
_MEMORY = """
import re, pathlib
import gold, lexicon
from notes.reading.observations import read_review
from notes.reading.second.reader import second_reader
review, vocabulary = gold.read_split("work")[0], lexicon.load()
def highest():
    return int(re.search(r"VmHWM:\\s+(\\d+)", pathlib.Path("/proc/self/status").read_text())[1]) // 1024
read_review(review.transcript, review.sheet, vocabulary)
before = highest()
read_review(review.transcript, review.sheet, vocabulary, second_reader(vocabulary))
print(highest() - before)
"""


def best_of(work: Callable[[], object]) -> float:
    """Shortest of a few runs, in seconds."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print load time and reading speed with their ratios."""
    blank = best_of(lambda: spacy.blank("en"))
    tokenize("warm up")
    load = best_of(lexicon.load)
    vocabulary = lexicon.load()
    patterns = sum(len(e.say) for e in vocabulary.entries.values())
    print(f"lexicon: {len(vocabulary.entries)} entries, {patterns} patterns, loaded in {load:.2f} s")
    print(f"  ratio to making a blank spaCy pipeline ({blank:.2f} s): {load / blank:.2f}")

    reviews = read_split("work")
    sentences = sum(gold.sentences for gold in reviews)
    pipeline = spacy.blank("en")
    texts = [" ".join(s.text for s in gold.transcript.segments) for gold in reviews]
    bare = best_of(lambda: [pipeline(text) for text in texts])
    read = best_of(lambda: [read_observations(g.transcript, g.sheet, vocabulary) for g in reviews])
    print(f"reading: {sentences} sentences in {read:.2f} s, {sentences / read:.0f} sentences/s")
    print(f"  ratio to the spaCy pipeline alone ({bare:.2f} s, {sentences / bare:.0f} sentences/s): {read / bare:.2f}")
    add_second_reader(vocabulary)


def add_second_reader(vocabulary: lexicon.Lexicon) -> None:
    """Print what the second reader adds in time and memory."""
    from notes.speech.terms import TradeWords
    from notes.speech.transcribe import transcribe

    folder = Path(str(files("demo_audio")))
    facts = read_sheet(folder / "review.sheet.yaml")
    with TemporaryDirectory() as kept:
        start = time.perf_counter()
        heard = transcribe(folder / "review.opus", DEFAULT, TradeWords(()), lambda ms: None, Path(kept))
        hearing = time.perf_counter() - start
    start = time.perf_counter()
    second = second_reader(vocabulary)
    loading = time.perf_counter() - start
    if second is None:
        print("second reader: its weights are missing")
        return
    talk = read_talk(heard, vocabulary, facts.names)
    judging = best_of(lambda: second.judge(talk, facts))
    told = len(talk.sentences)
    print(
        f"second reader: loaded in {loading:.2f} s; {told} sentences in {judging:.2f} s, {told / judging:.0f} sentences/s"
    )
    print(f"  ratio to transcribing the same talk ({hearing:.1f} s): {judging / hearing:.3f}")
    # Measured by itself: the memory of transcribing would hide it.
    added = subprocess.run([sys.executable, "-c", _MEMORY], capture_output=True, text=True, check=True).stdout.strip()
    print(f"  adds {added} MB of memory to a first reading")


if __name__ == "__main__":
    main()
