// Narrate: the footage plays, the coach speaks; every second of sound goes to the desk with what the footage did.
import { say } from "./desk.js";

const CLAPS = 5;
const BETWEEN_CLAPS_S = 1.2;
const page = document.getElementById("narrate");
const form = document.getElementById("sheet");
const footage = document.getElementById("footage");
const level = document.getElementById("level");
const record = document.getElementById("record");
const finish = document.getElementById("finish");
const spoken = document.getElementById("spoken");
const delay = document.getElementById("delay");

let key = JSON.parse(document.body.getAttribute("hx-headers"))["x-tapeside"];
let narration = page.dataset.narration || null;
let take = 0;
let number = 0;
let began = 0;
let seconds = Number(page.dataset.seconds || 0);
let anchors = [];
let unsent = [];
let sending = false;
let running = false;
let context = null;
let recorder = null;

delay.value = localStorage.getItem("delay") ?? 55;
delay.addEventListener("change", () => localStorage.setItem("delay", delay.value));

async function ask(path, options = {}) {
  const answer = await fetch(path, { ...options, headers: { ...options.headers, "x-tapeside": key } });
  if (answer.ok) return answer;
  const told = await answer.text();
  throw Object.assign(new Error(told.slice(0, 400)), { status: answer.status });
}

// Footage -------------------------------------------------------------------------------------------------------------

const choose = document.getElementById("choose");
const drop = document.getElementById("drop");
let file = null;

function takeFootage(chosen) {
  if (!chosen) return;
  file = chosen;
  footage.src = URL.createObjectURL(chosen);
  footage.hidden = false;
  document.getElementById("footage-name").textContent = chosen.name;
}
choose?.addEventListener("change", () => takeFootage(choose.files[0]));
drop?.addEventListener("dragover", (event) => event.preventDefault());
drop?.addEventListener("drop", (event) => {
  event.preventDefault();
  takeFootage(event.dataTransfer.files[0]);
});

function anchor() {
  if (!running || !footage.currentSrc) return;
  anchors.push({
    at_ms: Math.max(0, Math.round((context.currentTime - began) * 1000 + Number(delay.value))),
    footage_ms: Math.round(footage.currentTime * 1000),
    rate: footage.paused || footage.seeking || footage.readyState < 3 ? 0 : footage.playbackRate,
  });
}
for (const event of ["playing", "pause", "seeking", "seeked", "ratechange", "waiting", "ended"]) {
  footage.addEventListener(event, anchor);
}

// Microphone ----------------------------------------------------------------------------------------------------------

// Why there is no microphone, in words. Names: Media Capture and Streams, getUserMedia.
function refusal(error) {
  if (error.name === "NotAllowedError") return "The browser did not allow the microphone; allow it for this page.";
  if (error.name === "NotFoundError") return "The browser finds no microphone; plug one in.";
  if (error.name === "NotReadableError") return "Another program holds the microphone; close it and try again.";
  return error.message;
}

async function listen() {
  if (context) return;
  const microphone = await navigator.mediaDevices.getUserMedia({
    audio: { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: true },
  });
  context = new AudioContext();
  await context.audioWorklet.addModule("/static/recorder.js");
  recorder = new AudioWorkletNode(context, "recorder", { numberOfOutputs: 0 });
  context.createMediaStreamSource(microphone).connect(recorder);
  recorder.port.onmessage = ({ data }) => {
    if (data.level !== undefined) heard(data.level, data.at);
    else if (data.began !== undefined) started(data.began);
    else if (data.samples) keep(data.samples);
  };
}

function heard(loudness, at) {
  level.value = Math.max(0, 1 + Math.log10(Math.max(loudness, 1e-4)) / 3);
  claps?.(loudness, at);
}

function started(at) {
  began = at;
  running = true;
  anchor();
}

function keep(samples) {
  const length = samples.byteLength / 2 / context.sampleRate;
  seconds += length;
  show();
  anchor();
  const part = { take, number: number++, rate: context.sampleRate, samples, anchors };
  anchors = [];
  unsent.push(part);
  send();
}

async function send() {
  if (sending) return;
  sending = true;
  while (unsent.length) {
    const part = unsent[0];
    try {
      await ask(`/narrations/${narration}/parts/${part.take}/${part.number}`, {
        method: "PUT",
        body: part.samples,
        headers: { "x-rate": part.rate, "x-anchors": JSON.stringify(part.anchors) },
      });
      unsent.shift();
      if (!unsent.length) say("");
    } catch (error) {
      if (error.status === 422) {
        say(error.message);
        unsent.shift();
        continue;
      }
      say(`${unsent.length} s are not yet kept: the desk does not answer. Start it again and open its new address in another tab; go on speaking meanwhile.`);
      await new Promise((wait) => setTimeout(wait, 1000));
      await fetch("/key").then((answer) => (answer.ok ? answer.text() : key)).then((fresh) => (key = fresh)).catch(() => {});
    }
  }
  sending = false;
  document.dispatchEvent(new Event("all-kept"));
}

addEventListener("beforeunload", (event) => {
  if (running || unsent.length) event.preventDefault();
});

// Record and finish ---------------------------------------------------------------------------------------------------

function show() {
  const whole = Math.floor(seconds);
  spoken.textContent = `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")} spoken`;
}

async function begin() {
  if (!narration) await create();
  if (file && !upload.request) upload();
}

async function create() {
  const facts = new FormData(form);
  facts.set("narration", file ? "live" : "memo");
  const answer = await ask("/narrations", { method: "POST", body: new URLSearchParams(facts) });
  narration = await answer.text();
  history.replaceState(null, "", `/narrate?go_on=${narration}`);
  form.querySelectorAll("fieldset").forEach((group) => (group.disabled = true));
}

function upload() {
  const bar = document.getElementById("upload");
  bar.hidden = false;
  const request = new XMLHttpRequest();
  // It is tried again when the coach goes on after a pause.
  const failed = (told) => {
    upload.request = null;
    say(told);
  };
  request.open("PUT", `/narrations/${narration}/footage`);
  request.setRequestHeader("x-tapeside", key);
  request.setRequestHeader("x-name", encodeURIComponent(file.name));
  request.upload.onprogress = (event) => (bar.value = event.loaded / event.total);
  request.onload = () => {
    bar.hidden = request.status < 400;
    if (request.status >= 400) failed(request.responseText.slice(0, 300));
    document.dispatchEvent(new Event("footage-kept"));
  };
  request.onerror = () => failed("The footage could not be copied; the narration goes on without it.");
  request.send(file);
  upload.request = request;
}

record.addEventListener("click", async () => {
  try {
    if (running) return pause();
    document.getElementById("refused").textContent = "";
    if (!form.reportValidity()) return;
    await listen();
    await begin();
    await context.resume();
    take = Number(await (await ask(`/narrations/${narration}/take`)).text());
    number = 0;
    recorder.port.postMessage("start");
    record.textContent = "Pause";
    record.setAttribute("aria-pressed", "true");
    finish.disabled = false;
  } catch (error) {
    document.getElementById("refused").textContent = refusal(error);
  }
});

function pause() {
  running = false;
  recorder.port.postMessage("stop");
  footage.pause();
  record.textContent = "Go on";
  record.setAttribute("aria-pressed", "false");
}

finish.addEventListener("click", async () => {
  finish.disabled = true;
  if (running) pause();
  await new Promise((wait) => setTimeout(wait, 300));
  if (unsent.length) await new Promise((kept) => document.addEventListener("all-kept", kept, { once: true }));
  if (upload.request && upload.request.readyState !== 4) {
    say("Waiting until the footage is copied.");
    await new Promise((kept) => document.addEventListener("footage-kept", kept, { once: true }));
  }
  try {
    const answer = await ask(`/narrations/${narration}/finish`, { method: "POST" });
    location.assign(await answer.text());
  } catch (error) {
    document.getElementById("refused").textContent = error.message;
    finish.disabled = false;
  }
});

// Clap test: the page claps through the loudspeaker; how much later the microphone hears it, less the time that the clap
// took to the loudspeaker, is the delay. -----------------------------------------------------------------------------------

let claps = null;
document.getElementById("clap")?.addEventListener("click", async () => {
  const told = document.getElementById("clapped");
  try {
    await listen();
    await context.resume();
  } catch (error) {
    told.textContent = refusal(error);
    return;
  }
  told.textContent = "Clapping …";
  const planned = Array.from({ length: CLAPS }, (_, i) => context.currentTime + 0.8 + i * BETWEEN_CLAPS_S);
  const lags = Array(CLAPS).fill(null);
  const noise = context.createBuffer(1, context.sampleRate * 0.03, context.sampleRate);
  noise.getChannelData(0).forEach((_, i, data) => (data[i] = (Math.random() * 2 - 1) * (1 - i / data.length)));
  for (const due of planned) {
    const clap = context.createBufferSource();
    clap.buffer = noise;
    clap.connect(context.destination);
    clap.start(due);
  }
  let quiet = 0.02;
  claps = (loudness, now) => {
    if (now < planned[0]) quiet = Math.max(quiet, loudness * 2);
    const last = planned.findLastIndex((due) => due < now);
    if (last >= 0 && lags[last] === null && loudness > quiet) lags[last] = (now - planned[last]) * 1000;
  };
  await new Promise((over) => setTimeout(over, 1000 * (0.8 + CLAPS * BETWEEN_CLAPS_S)));
  claps = null;
  const good = lags.filter((lag) => lag !== null).sort((a, b) => a - b);
  if (good.length < 3) {
    told.textContent = "The claps were not heard; turn the loudspeaker up, or set the delay by hand.";
    return;
  }
  const toLoudspeaker = 1000 * (context.baseLatency + (context.outputLatency ?? 0));
  delay.value = Math.max(0, Math.round(good[Math.floor(good.length / 2)] - toLoudspeaker));
  delay.dispatchEvent(new Event("change"));
  told.textContent = `${good.length} of ${CLAPS} claps heard; delay ${delay.value} ms.`;
});

document.getElementById("try")?.addEventListener("click", () => listen().then(() => context.resume()).catch((error) => say(refusal(error))));
