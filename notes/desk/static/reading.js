// Reading back: words light as they sound, a word plays from there, a note shows its moment.
import { say } from "./desk.js";
import { count, numberOf, rangeOf, spokenBetween, textOf, timeOf, wordAt, wordsIn, wordUnder } from "./words.js";

const LEAD_MS = 4000;
const player = document.getElementById("player");
const script = document.getElementById("script");
const footage = document.getElementById("footage");
const sound = document.getElementById("sound");
// The words' own clock: the coach's recording, or the footage where it was talked over in one file.
const voice = sound ?? footage;
let lit = null;

// Which words stand out, under a name that the style sheet knows.
const mark = (name, ranges) => CSS.highlights?.set(name, new Highlight(...ranges));

function light() {
  const word = wordAt(voice.currentTime * 1000);
  const number = word && numberOf(word);
  if (number !== lit) {
    lit = number;
    const range = word && rangeOf(word);
    mark("now", range ? [range] : []);
    if (range && !voice.paused) follow(range);
  }
  if (!voice.paused) requestAnimationFrame(light);
}

function follow(range) {
  const box = range.getBoundingClientRect();
  if (box.top > player.getBoundingClientRect().bottom && box.bottom < innerHeight) return;
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  scrollBy({ top: box.top - innerHeight / 2, behavior: calm ? "auto" : "smooth" });
}

// Stopping what had not yet begun is no fault; that the browser cannot play it is to be told.
function start(media) {
  media.play().catch((error) => error.name === "AbortError" || say(`This cannot be played here: ${error.message}`));
}

function play(ms) {
  if (!voice) return say("The recording is not where it was; its words can be read, not heard.");
  voice.currentTime = ms / 1000;
  start(voice);
}

function showMoment(note) {
  const at = note.dataset.footage;
  if (footage && at !== undefined) {
    sound?.pause();
    footage.currentTime = Math.max(0, at - LEAD_MS) / 1000;
    start(footage);
  } else if (note.dataset.start !== undefined) play(Number(note.dataset.start));
  else say("No time is known for this note.");
}

voice?.addEventListener("play", () => requestAnimationFrame(light));
voice?.addEventListener("seeked", light);

script.addEventListener("click", (event) => {
  if (event.target.closest("button:not([data-play]), form, a")) return;
  if (!getSelection().isCollapsed) return;
  const word = event.target.closest("p.words") && wordUnder(event.clientX, event.clientY);
  const start = event.target.closest("[data-play]");
  const note = event.target.closest("[data-note]");
  if (word) play(timeOf(word));
  else if (start) play(Number(start.dataset.play));
  else if (note) showMoment(note);
});

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea, button, a, video, audio")) return;
  if (event.key === " " && voice) {
    if (voice.paused) start(voice);
    else voice.pause();
  } else if (event.key === "Enter" && event.target.matches("[data-note]")) showMoment(event.target);
  else return;
  event.preventDefault();
});

// The words that a note was read from are underlined in its ink while it has the focus.
let underlined = null;
script.addEventListener("focusin", (event) => {
  const note = event.target.closest("[data-note]");
  if (underlined) mark(underlined, []);
  underlined = null;
  if (!note || note.dataset.start === undefined) return;
  underlined = [...note.classList].find((name) => name.startsWith("ink-"));
  mark(underlined, spokenBetween(Number(note.dataset.start), Number(note.dataset.end)));
});

// Words that were selected can become a note, be mended, or be marked as another speaker's. The pointer selects them;
// so do the arrow keys in a paragraph that has the focus, with Shift for more than one.
const chosen = document.getElementById("chosen");

function choose(first, last) {
  chosen.hidden = false;
  chosen.elements.first.value = numberOf(first);
  chosen.elements.last.value = numberOf(last);
  document.getElementById("chosen-words").textContent = textOf(first, last).slice(0, 160);
}

document.addEventListener("selectionchange", () => {
  const selection = getSelection();
  if (selection.isCollapsed || !script.contains(selection.anchorNode)) return;
  const picked = wordsIn(selection.getRangeAt(0));
  if (picked) choose(...picked);
});

script.addEventListener("keydown", (event) => {
  const paragraph = event.target.closest("p.words");
  const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (!paragraph || !way) return;
  event.preventDefault();
  const most = count(paragraph) - 1;
  const within = (name) => {
    const at = chosen.elements[name].value === "" ? -1 : chosen.elements[name].value - paragraph.dataset.first;
    return at <= most ? at : -1;
  };
  const [first, last] = [within("first"), within("last")];
  const at = Math.max(0, Math.min(most, (last < 0 ? (way > 0 ? -1 : most + 1) : last) + way));
  const from = event.shiftKey && first >= 0 ? Math.min(first, at) : at;
  const range = rangeOf({ paragraph, at: from }, { paragraph, at });
  choose({ paragraph, at: from }, { paragraph, at });
  getSelection().setBaseAndExtent(range.startContainer, range.startOffset, range.endContainer, range.endOffset);
});

document.getElementById("chosen-none").addEventListener("click", () => {
  chosen.hidden = true;
  chosen.elements.first.value = chosen.elements.last.value = "";
  document.getElementById("chosen-answer").replaceChildren();
  getSelection().removeAllRanges();
});
