// Reading back: words light as they sound, a word plays from there, a note shows its moment.
import { say } from "./desk.js";

const LEAD_MS = 4000;
const player = document.getElementById("player");
const script = document.getElementById("script");
const footage = document.getElementById("footage");
const sound = document.getElementById("sound");
// The words' own clock: the coach's recording, or the footage where it was talked over in one file.
const voice = sound ?? footage;
const words = [...script.querySelectorAll("span[data-t]")];
const times = words.map((word) => Number(word.dataset.t));
let lit = null;

function wordAt(ms) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= ms) low = middle + 1;
    else high = middle;
  }
  return words[low - 1] ?? null;
}

function light() {
  const word = wordAt(voice.currentTime * 1000);
  if (word !== lit) {
    lit?.classList.remove("now");
    word?.classList.add("now");
    lit = word;
    if (word && !voice.paused) follow(word);
  }
  if (!voice.paused) requestAnimationFrame(light);
}

function follow(word) {
  const box = word.getBoundingClientRect();
  if (box.top > player.getBoundingClientRect().bottom && box.bottom < innerHeight) return;
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  word.scrollIntoView({ block: "center", behavior: calm ? "auto" : "smooth" });
}

function play(ms) {
  if (!voice) return say("The recording is not where it was; its words can be read, not heard.");
  voice.currentTime = ms / 1000;
  voice.play();
}

function showMoment(note) {
  const at = note.dataset.footage;
  if (footage && at !== undefined) {
    sound?.pause();
    footage.currentTime = Math.max(0, at - LEAD_MS) / 1000;
    footage.play();
  } else if (note.dataset.start !== undefined) play(Number(note.dataset.start));
  else say("No time is known for this note.");
}

voice?.addEventListener("play", () => requestAnimationFrame(light));
voice?.addEventListener("seeked", light);

script.addEventListener("click", (event) => {
  if (event.target.closest("button:not([data-play]), form, a")) return;
  if (!getSelection().isCollapsed) return;
  const word = event.target.closest("[data-t]");
  const start = event.target.closest("[data-play]");
  const note = event.target.closest("[data-note]");
  if (word) play(Number(word.dataset.t));
  else if (start) play(Number(start.dataset.play));
  else if (note) showMoment(note);
});

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea, button, a, video, audio")) return;
  if (event.key === " " && voice) {
    if (voice.paused) voice.play();
    else voice.pause();
  } else if (event.key === "Enter" && event.target.matches("[data-note]")) showMoment(event.target);
  else return;
  event.preventDefault();
});

// The words that a note was read from are underlined in its ink while it has the focus.
script.addEventListener("focusin", (event) => {
  const note = event.target.closest("[data-note]");
  for (const word of script.querySelectorAll("span.of")) word.className = word.className.replace(/ ?of( ink-\d)?/, "");
  if (!note || note.dataset.start === undefined) return;
  const ink = [...note.classList].find((name) => name.startsWith("ink-"));
  for (const [i, time] of times.entries()) {
    if (time >= Number(note.dataset.start) && time < Number(note.dataset.end)) words[i].classList.add("of", ink);
  }
});

// Words that were selected can become a note, be mended, or be marked as another speaker's. The pointer selects them;
// so do the arrow keys in a paragraph that has the focus, with Shift for more than one.
const chosen = document.getElementById("chosen");

function choose(first, last) {
  chosen.hidden = false;
  chosen.elements.first.value = first.dataset.w;
  chosen.elements.last.value = last.dataset.w;
  const range = document.createRange();
  range.setStartBefore(first);
  range.setEndAfter(last);
  document.getElementById("chosen-words").textContent = range.toString().slice(0, 160);
}

document.addEventListener("selectionchange", () => {
  const selection = getSelection();
  if (selection.isCollapsed || !script.contains(selection.anchorNode)) return;
  const range = selection.getRangeAt(0);
  const inside = range.commonAncestorContainer;
  const root = inside.nodeType === Node.ELEMENT_NODE ? inside : inside.parentElement;
  const within = root.closest("span[data-w]") ? [root.closest("span[data-w]")] : [...root.querySelectorAll("span[data-w]")];
  const picked = within.filter((word) => range.intersectsNode(word));
  if (picked.length) choose(picked[0], picked.at(-1));
});

script.addEventListener("keydown", (event) => {
  const paragraph = event.target.closest("p.words");
  const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (!paragraph || !way) return;
  event.preventDefault();
  const all = [...paragraph.querySelectorAll("span[data-w]")];
  const [first, last] = ["first", "last"].map((name) => all.findIndex((w) => w.dataset.w === chosen.elements[name].value));
  const at = Math.max(0, Math.min(all.length - 1, (last < 0 ? (way > 0 ? -1 : all.length) : last) + way));
  const from = event.shiftKey && first >= 0 ? Math.min(first, at) : at;
  getSelection().setBaseAndExtent(all[from], 0, all[at], all[at].childNodes.length);
  choose(all[from], all[at]);
});

document.getElementById("chosen-none").addEventListener("click", () => {
  chosen.hidden = true;
  chosen.elements.first.value = chosen.elements.last.value = "";
  document.getElementById("chosen-answer").replaceChildren();
  getSelection().removeAllRanges();
});
