// Waits for the files that are being read, and shows what they say of themselves, unless something has been chosen.
// Without this script one looks again by the link.
"use strict";

const EVERY = 1500; // milliseconds between two questions
const form = document.getElementById("delivery");
const reading = document.getElementById("reading");
let touched = false;

async function ask() {
  try {
    const answer = await fetch(window.location.pathname, { headers: { Accept: "application/json" } });
    const now = answer.ok && !answer.redirected ? await answer.json() : null;
    if (now && !now.reading) {
      if (!touched) window.location.reload();
      else reading.textContent = "All are read. Look again to see what they say, once you have put what you chose.";
      return;
    }
  } catch {
    // the service is away; it is asked again
  }
  window.setTimeout(ask, EVERY);
}

form.addEventListener("change", () => {
  touched = true;
});
if ("reading" in form.dataset) window.setTimeout(ask, EVERY);
