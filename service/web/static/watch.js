// Follows an inspection: its progress while it runs, then the report at its full height and the pictures as they come.
// Without this script the page loads again by itself, the report scrolls in its frame, and all else works.
"use strict";

const EVERY = 700; // milliseconds between two questions
const SLOWEST = 10000;
const DRAWING_EVERY = 2000;
const DRAWING_TRIES = 30;

function follow(section) {
  const state = document.getElementById("state");
  const bar = document.getElementById("pages-done");
  const lost = document.getElementById("lost");
  let pause = EVERY;

  function show(now) {
    if (state.textContent !== now.state) state.textContent = now.state; // read out once, not with every page
    document.getElementById("sentence").textContent = now.sentence;
    document.getElementById("note").textContent = now.note;
    if (now.total) {
      bar.max = now.total;
      bar.value = now.done;
    } else {
      bar.removeAttribute("value");
    }
  }

  function typing() {
    return [...document.querySelectorAll("main textarea, main input")].some((field) =>
      field.type === "file" ? field.files.length > 0 : field.value !== field.defaultValue,
    );
  }

  async function ask() {
    try {
      const answer = await fetch(section.dataset.from, { headers: { Accept: "application/json" } });
      if (answer.status >= 500) throw new Error(answer.statusText);
      const now = answer.ok && !answer.redirected ? await answer.json() : null;
      if (now && now.finished && typing()) {
        state.textContent = "It has ended: load the page again once you have kept what you typed";
        return;
      }
      if (!now || now.finished) {
        window.location.reload(); // finished; or deleted, or signed out: the page itself says so
        return;
      }
      show(now);
      lost.hidden = true;
      pause = EVERY;
    } catch {
      lost.hidden = false;
      pause = Math.min(SLOWEST, pause * 2);
    }
    window.setTimeout(ask, pause);
  }

  window.setTimeout(ask, pause);
}

function fit(frame) {
  let width = 0;
  const grow = () => {
    const root = frame.contentDocument && frame.contentDocument.documentElement;
    if (!root || frame.clientWidth === width) return;
    width = frame.clientWidth;
    frame.style.height = "0";
    frame.style.height = `${root.scrollHeight + 4}px`;
  };
  const afresh = () => {
    width = 0;
    grow();
  };
  frame.addEventListener("load", afresh);
  new ResizeObserver(grow).observe(frame);
  afresh();
}

function putIn(place) {
  const picture = new Image();
  picture.alt = `Page ${place.dataset.page}`;
  picture.src = place.href;
  place.replaceChildren(picture);
  place.classList.remove("blank", "undrawn");
}

function giveUp(place) {
  place.textContent = "Cannot be drawn: why";
  place.classList.remove("undrawn");
}

async function statusOf(place) {
  try {
    return (await fetch(place.href, { method: "HEAD", headers: { Accept: "application/json" } })).status;
  } catch {
    return 0; // the service is away; it is asked again
  }
}

async function wait(places) {
  for (const place of places) { // one after another: each question has its page drawn, if need be
    for (let attempt = 1; attempt <= DRAWING_TRIES; attempt += 1) {
      const now = await statusOf(place);
      if (now === 200) putIn(place);
      if (now === 404) giveUp(place);
      if (now === 200 || now === 404) break;
      await new Promise((resolve) => window.setTimeout(resolve, DRAWING_EVERY));
    }
  }
}

const progress = document.getElementById("progress");
const report = document.getElementById("report");
if (progress) follow(progress);
if (report) fit(report);
wait(document.querySelectorAll(".undrawn"));
