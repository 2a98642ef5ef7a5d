// Keys, focus and spoken answers, shared by all pages. A key does what the button that carries it does.

const typing = (target) => target.closest("input, select, textarea, [contenteditable]");
const notes = () => [...document.querySelectorAll("[data-note]")];

export function say(text) {
  const line = document.getElementById("said");
  line.textContent = text;
  clearTimeout(say.timer);
  say.timer = setTimeout(() => (line.textContent = ""), 6000);
}

function step(from, way) {
  const all = notes();
  const next = all[from ? all.indexOf(from) + way : way > 0 ? 0 : all.length - 1];
  next?.focus();
  next?.scrollIntoView({ block: "nearest" });
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Escape") return close(event.target.closest("[data-note]"));
  if (typing(event.target)) return;
  const note = event.target.closest("[data-note]");
  const key = event.key.toLowerCase();
  if (key === "n") step(note, 1);
  else if (key === "p") step(note, -1);
  else if (note && ACTS[key]) act(note, key);
  else return;
  event.preventDefault();
});

// What can be done with a note: its part of the address, and whether it changes the note.
const ACTS = { k: ["keep", true], s: ["strike", true], a: ["amend", false], u: ["undo", true], w: ["why", false] };

function act(note, key) {
  const [path, changes] = ACTS[key];
  htmx.ajax(changes ? "post" : "get", `${note.dataset.address}/${path}`, {
    source: note,
    target: changes ? note : note.querySelector(".more"),
    swap: changes ? "outerHTML" : "innerHTML",
  });
}

// A page may hold a thousand notes: each gets its buttons, and room for forms and answers, when it is looked at.
function offer(note) {
  if (!note || note.querySelector(".do")) return;
  note.append(document.getElementById("what-to-do").content.cloneNode(true));
  if (!note.matches(".kept, .amended, .struck")) note.querySelector('[data-key="u"]').remove();
}
document.addEventListener("focusin", ({ target }) => offer(target.closest("[data-note]")));
for (const note of document.querySelectorAll(".queue [data-note]")) offer(note);
// A queue is there to be worked off: its keys act on the first note at once.
document.querySelector(".queue [data-note]")?.focus({ preventScroll: true });

function close(note) {
  if (!note) return;
  note.querySelector(".more").replaceChildren();
  note.focus();
}

document.addEventListener("click", (event) => {
  const key = event.target.closest(".do button")?.dataset.key;
  if (key) act(event.target.closest("[data-note]"), key);
  if (event.target.closest("[data-close]")) {
    const form = event.target.closest("form");
    const note = form.closest("[data-note]");
    if (note) close(note);
    else form.parentElement.replaceChildren();
  }
});

// After a note was changed it is drawn anew: the reader stays on it, or goes on to the next where a queue is worked off.
let changed = null;
document.body.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.requestConfig.verb !== "post") return;
  changed = event.detail.elt.closest("[data-note]")?.dataset.note ?? null;
});
document.body.addEventListener("htmx:afterSettle", (event) => {
  const asked = event.detail.target.querySelector?.("[autofocus]");
  if (asked) asked.focus();
  if (!changed) return;
  const note = document.getElementById(`n-${changed}`);
  changed = null;
  if (!note) return;
  if (document.querySelector(".queue")) offer(note);
  say(note.getAttribute("aria-label"));
  if (document.querySelector(".queue") && !note.querySelector(".more form")) step(note, 1);
  else note.focus();
});
document.body.addEventListener("htmx:beforeSwap", (event) => {
  // Refusals are pages' own words and belong where they were asked for.
  if (event.detail.xhr.status === 422) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});
document.body.addEventListener("htmx:responseError", (event) => say(event.detail.xhr.responseText.slice(0, 300)));
document.body.addEventListener("htmx:sendError", () => say("The desk does not answer; is it still running?"));
