// The words of the script page. They are no elements but stretches of their paragraph's text, parted by blanks: three hours
// hold tens of thousands of them. A word is {paragraph, at}: the one that stands there in its paragraph, counted from 0.

export const paragraphs = [...document.querySelectorAll("p.words")];
const starts = paragraphs.map((paragraph) => Number(paragraph.dataset.start));
const known = new WeakMap();

// Where each word of a paragraph begins and ends in its text, and when it begins, in ms of the recording.
function wordsOf(paragraph) {
  if (!known.has(paragraph)) {
    let end = -1;
    const words = paragraph.textContent.split(" ").map((text) => [end + 1, (end += text.length + 1)]);
    const since = Number(paragraph.dataset.start);
    const times = paragraph.dataset.times?.split(" ").map((time) => since + Number(time)) ?? [];
    known.set(paragraph, { words, times });
  }
  return known.get(paragraph);
}

// The last index whose value is not above `most`, in values that rise; -1 where there is none.
function lastUpTo(values, most) {
  let low = 0;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle] <= most) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

export const count = (paragraph) => wordsOf(paragraph).words.length;

// The word's number in the whole talk.
export const numberOf = ({ paragraph, at }) => Number(paragraph.dataset.first) + at;

export const timeOf = ({ paragraph, at }) => wordsOf(paragraph).times[at];

export function wordAt(ms) {
  const paragraph = paragraphs[lastUpTo(starts, ms)];
  const at = paragraph ? lastUpTo(wordsOf(paragraph).times, ms) : -1;
  return at < 0 ? null : { paragraph, at };
}

export function wordUnder(x, y) {
  const caret = document.caretPositionFromPoint?.(x, y) ?? document.caretRangeFromPoint?.(x, y);
  const [node, offset] = [caret?.offsetNode ?? caret?.startContainer, caret?.offset ?? caret?.startOffset];
  const paragraph = node?.parentElement?.closest("p.words");
  if (!paragraph) return null;
  const word = { paragraph, at: wordWith(paragraph, offsetIn(paragraph, node, offset)) };
  const boxes = [...rangeOf(word).getClientRects()];
  return boxes.some((box) => x >= box.left && x <= box.right && y >= box.top && y <= box.bottom) ? word : null;
}

// Its words that begin from `start` on and before `end`, as ranges, a range a paragraph.
export function spokenBetween(start, end) {
  const ranges = [];
  for (let i = Math.max(0, lastUpTo(starts, start)); i < paragraphs.length && starts[i] < end; i++) {
    const { times } = wordsOf(paragraphs[i]);
    const [first, last] = [lastUpTo(times, start - 1) + 1, lastUpTo(times, end - 1)];
    if (first <= last) ranges.push(rangeOf({ paragraph: paragraphs[i], at: first }, { paragraph: paragraphs[i], at: last }));
  }
  return ranges;
}

export function rangeOf(first, last = first) {
  const range = document.createRange();
  range.setStart(...placeIn(first.paragraph, wordsOf(first.paragraph).words[first.at][0]));
  range.setEnd(...placeIn(last.paragraph, wordsOf(last.paragraph).words[last.at][1]));
  return range;
}

export function textOf(first, last) {
  const [from, to] = [first, last].map((word) => paragraphs.indexOf(word.paragraph));
  return paragraphs
    .slice(from, to + 1)
    .map((paragraph, i) =>
      rangeOf(i === 0 ? first : { paragraph, at: 0 }, from + i === to ? last : { paragraph, at: count(paragraph) - 1 }),
    )
    .join(" ");
}

// The first and the last word that a range touches, or null.
export function wordsIn(range) {
  const endsIn = (paragraph) =>
    paragraph.contains(range.endContainer) ? offsetIn(paragraph, range.endContainer, range.endOffset) : Infinity;
  // What a triple click selects reaches to the start of the paragraph after it.
  const touched = paragraphs.filter((paragraph) => range.intersectsNode(paragraph) && endsIn(paragraph) > 0);
  if (!touched.length) return null;
  const [first, last] = [touched[0], touched.at(-1)];
  const begins = first.contains(range.startContainer) ? offsetIn(first, range.startContainer, range.startOffset) : 0;
  const ends = endsIn(last);
  return [
    { paragraph: first, at: wordWith(first, begins) },
    { paragraph: last, at: wordWith(last, ends - 1) },
  ];
}

function wordWith(paragraph, offset) {
  return Math.max(0, lastUpTo(wordsOf(paragraph).words.map(([start]) => start), offset));
}

function offsetIn(paragraph, node, offset) {
  const before = document.createRange();
  before.setStart(paragraph, 0);
  before.setEnd(node, offset);
  return before.toString().length;
}

function placeIn(paragraph, offset) {
  const texts = document.createTreeWalker(paragraph, NodeFilter.SHOW_TEXT);
  let left = offset;
  while (texts.nextNode()) {
    if (left <= texts.currentNode.length) return [texts.currentNode, left];
    left -= texts.currentNode.length;
  }
  return [paragraph, paragraph.childNodes.length];
}
