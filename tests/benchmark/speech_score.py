"""What the hearing benchmark counts: word errors, terms kept and invented, sentence ends.

Numbers are written as words on both sides. The usual normaliser of Whisper is not used: it makes 12 of "one two".
"""

import re
from dataclasses import dataclass
from pathlib import Path

import jiwer

_FILE = Path(__file__).parent / "trade_terms.txt"


def _read_terms() -> dict[str, str]:
    """Every spelling of a term, with spaces, to the term."""
    spellings: dict[str, str] = {}
    for line in _FILE.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            names = [name.strip() for name in line.split("=")]
            spellings.update(dict.fromkeys(names, names[0]))
    return spellings


SPELLINGS = _read_terms()
TERM = re.compile(
    r"\b(?:" + "|".join(re.escape(s).replace(r"\ ", "[ -]") for s in sorted(SPELLINGS, key=len, reverse=True)) + r")\b"
)
_ENDED = re.compile(
    r"\b("
    + "|".join(re.escape(s) for s in sorted(SPELLINGS, key=len, reverse=True))
    + r")('s|s|es|ed|ing|ning|ming|ping)?\b"
)
_ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
_TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()


def said_number(digits: str) -> str:
    """A number in words; one of three or four digits as a clock is read: "122" is "one twenty two"."""
    if len(digits) == 2 and digits[0] == "0":
        return f"oh {_ONES[int(digits)]}"
    if len(digits) in (3, 4):
        return f"{said_number(str(int(digits[:-2])))} {said_number(digits[-2:])}"
    number = int(digits)
    if number < 20:
        return _ONES[number]
    if number < 100:
        return f"{_TENS[number // 10]} {_ONES[number % 10] if number % 10 else ''}".strip()
    return " ".join(_ONES[int(digit)] for digit in digits)


def plain_words(text: str) -> list[str]:
    """Lower-case words without marks; hyphens part words and digits are spelt out."""
    text = text.lower().replace("’", "'")
    text = re.sub(r"(\d+)(?:st|nd|rd|th)\b", r"\1", text)
    text = re.sub(r"\d+", lambda m: f" {said_number(m[0])} ", text)
    return re.sub(r"[^\w' ]+", " ", text).replace(" '", " ").split()


def term_words(text: str) -> list[str]:
    """The words with each term as one token, `term:low kick`, whatever its spelling and ending."""
    return _ENDED.sub(lambda m: f"term:{SPELLINGS[m[1]].replace(' ', '_')}", " ".join(plain_words(text))).split()


@dataclass
class Tally:
    """Counts that add up over recordings."""

    words: int = 0
    errors: int = 0
    terms: int = 0
    kept: int = 0
    invented: int = 0
    ends: int = 0
    ends_written: int = 0
    ends_right: int = 0
    sound_s: float = 0.0
    spent_s: float = 0.0

    def add(self, other: "Tally") -> None:
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)

    @property
    def wer(self) -> float:
        return self.errors / max(self.words, 1)

    @property
    def recall(self) -> float:
        return self.kept / max(self.terms, 1)

    @property
    def false_per_1000(self) -> float:
        return 1_000 * self.invented / max(self.words, 1)

    @property
    def end_f1(self) -> float:
        return 2 * self.ends_right / max(self.ends + self.ends_written, 1)


def tally(said: str, heard: str) -> tuple[Tally, list[tuple[str, str]]]:
    """Counts for one recording, and each term that was lost or invented with the words around it on both sides."""
    true, found = plain_words(said), plain_words(heard)
    words = jiwer.process_words(" ".join(true), " ".join(found) or "-")
    counted = Tally(words=len(true), errors=words.substitutions + words.deletions + words.insertions)
    wrong = _count_terms(said, heard, counted)
    _count_ends(said, heard, words, counted)
    return counted, wrong


def _count_terms(said: str, heard: str, counted: Tally) -> list[tuple[str, str]]:
    true, found = term_words(said), term_words(heard)
    aligned = jiwer.process_words(" ".join(true), " ".join(found) or "-").alignments[0]
    kept_true: set[int] = set()
    kept_found: set[int] = set()
    wrong = []
    for chunk in aligned:
        if chunk.type == "equal":
            kept_true.update(range(chunk.ref_start_idx, chunk.ref_end_idx))
            kept_found.update(range(chunk.hyp_start_idx, chunk.hyp_end_idx))
    for chunk in aligned:
        lost = [w for w in true[chunk.ref_start_idx : chunk.ref_end_idx] if w.startswith("term:")]
        made = [w for w in found[chunk.hyp_start_idx : chunk.hyp_end_idx] if w.startswith("term:")]
        if chunk.type != "equal" and (lost or made):
            a, b = chunk.ref_start_idx, chunk.hyp_start_idx
            wrong.append(
                (
                    " ".join(true[max(0, a - 4) : chunk.ref_end_idx + 4]),
                    " ".join(found[max(0, b - 4) : chunk.hyp_end_idx + 4]),
                )
            )
    counted.terms = sum(w.startswith("term:") for w in true)
    counted.kept = sum(true[i].startswith("term:") for i in kept_true)
    counted.invented = sum(w.startswith("term:") for i, w in enumerate(found) if i not in kept_found)
    return wrong


def _count_ends(said: str, heard: str, words: jiwer.WordOutput, counted: Tally) -> None:
    true, found = _ends(said), _ends(heard)
    partner = {}
    for chunk in words.alignments[0]:
        if chunk.type in ("equal", "substitute"):
            for a, b in zip(
                range(chunk.ref_start_idx, chunk.ref_end_idx),
                range(chunk.hyp_start_idx, chunk.hyp_end_idx),
                strict=True,
            ):
                partner[a] = b
    counted.ends, counted.ends_written = len(true), len(found)
    counted.ends_right = sum(partner.get(end) in found for end in true)


def _ends(text: str) -> set[int]:
    """Places, in plain words, of the words that end a sentence."""
    ends, count = set(), 0
    for part in re.split(r"(?<=[.?!…])\s+", text):
        count += len(plain_words(part))
        if count and re.search(r"[.?!…]['\"”’)]*$", part.strip()):
            ends.add(count - 1)
    return ends
