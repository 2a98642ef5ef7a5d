"""The corpus as the second reader learns from it: sentences with what starts in them."""

import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml
from gold import CORPUS, Gold, read_gold
from tokenizers import Tokenizer
from train import base_folder

import lexicon
from notes.reading.second.windows import heading, sentences
from notes.reading.talk import read_talk
from notes.scoring import Mark

SAYINGS = CORPUS / "sayings"
# Names that the sayings use; the model knows athletes by one.
NAMED = re.compile(r"\b(Mara|Tunde|Ilka|Wes|Pia|Oskar)\b", re.IGNORECASE)


def of_review(gold: Gold, vocabulary: lexicon.Lexicon) -> dict[str, Any]:
    """One review: its sentences, which cue each belongs to, and its marks by first and last cue."""
    talk = read_talk(gold.transcript, vocabulary, gold.sheet.names)
    starts = [s.start_ms for s in gold.transcript.segments]
    cues = [max(i for i, start in enumerate(starts) if start <= s.start_ms) for s in talk.sentences]

    def span(mark: Mark) -> tuple[int, int]:
        inside = [
            i for i, s in enumerate(gold.transcript.segments) if s.start_ms < mark.end_ms and mark.start_ms < s.end_ms
        ]
        return inside[0], inside[-1]

    def choices(part: tuple[frozenset[str], ...]) -> list[list[str]]:
        return [sorted(choice) for choice in part]

    return {
        "name": gold.name,
        "heading": heading(gold.sheet),
        "sentences": sentences(talk, gold.sheet),
        "cues": cues,
        "marks": [
            {
                "kind": m.kind,
                "cues": span(m),
                "techniques": choices(m.techniques),
                "faults": choices(m.faults),
                "fixes": choices(m.fixes),
                "again": m.again,
            }
            for m in gold.marks
        ],
    }


def of_sayings(path: Path) -> Iterator[dict[str, Any]]:
    """Single sayings with what they speak of. "any" kind: only the id is known, not how it is judged."""
    for entry in yaml.safe_load(path.read_text(encoding="utf-8")):
        sort = _sort(entry["id"])
        for text in entry["say"]:
            yield {"text": text, "kind": "fault" if sort == "fault" else "any", sort: entry["id"]}
        for label, *rest in entry["near"]:
            if label == "other":
                other, text = rest
                yield {"text": text, "kind": "fault" if sort == "fault" else "any", _sort(other): other}
            else:
                yield {"text": rest[-1], "kind": label if label in ("strength", "advice") else "nothing"}


def _sort(name: str) -> str:
    return next(sort for sort in ("fault", "technique", "fix") if name in IDS[sort])


def main() -> None:
    """Write everything that training needs to the file named first; the splits to take are named after it."""
    out, *splits = sys.argv[1:]
    tokenizer = Tokenizer.from_file(str(base_folder() / "tokenizer.json"))
    tokenizer.no_truncation()
    tokenizer.no_padding()

    def pieces(text: str) -> list[int]:
        return list(tokenizer.encode(text, add_special_tokens=False).ids)

    vocabulary = lexicon.load()
    IDS.update({s: {e.id for e in vocabulary.of_sort(s)} for s in ("fault", "technique", "fix")})
    reviews = {}
    for split in splits:
        reviews[split] = [of_review(read_gold(p), vocabulary) for p in sorted((CORPUS / split).glob("*.gold.yaml"))]
        for review in reviews[split]:
            review["ids"] = [pieces(s) for s in review.pop("sentences")]
            review["head"] = pieces(review.pop("heading"))
    sayings = []
    for path in sorted(SAYINGS.glob("*.yaml")):
        for said in of_sayings(path):
            row = {"kind": said["kind"], "ids": pieces(NAMED.sub("sam", said["text"]).lower())}
            sayings.append(row | {sort: said.get(sort) for sort in ("fault", "technique", "fix")})
    data = {
        "reviews": reviews,
        "sayings": sayings,
        "faults": [*sorted(IDS["fault"]), "unlisted"],
        "techniques": [*sorted(IDS["technique"]), "none"],
        "fixes": sorted(IDS["fix"]),
        "cls": tokenizer.token_to_id("[CLS]"),
        "sep": tokenizer.token_to_id("[SEP]"),
        "mask": tokenizer.token_to_id("[MASK]"),
        "marks": [tokenizer.token_to_id(mark) for mark in ".,?!-;:'\""],
    }
    Path(out).write_text(json.dumps(data), encoding="utf-8")


IDS: dict[str, set[str]] = {}

if __name__ == "__main__":
    main()
