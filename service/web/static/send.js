// Sends the form without leaving the page: a refusal then loses nothing, and one sees how much of the file has arrived.
// Without this script the form goes its usual way.
"use strict";

const form = document.getElementById("send");
const input = document.getElementById("file");
const drop = document.getElementById("drop");
const problem = document.getElementById("problem");
const arriving = document.getElementById("arriving");
const button = form.querySelector("button[type=submit]");

const HEAD = 1024; // a PDF says what it is within its first 1024 bytes

function say(text) {
  problem.textContent = text;
  problem.hidden = !text;
  if (text) problem.focus();
}

function busy(text) {
  arriving.textContent = text;
  button.disabled = Boolean(text);
}

async function refusal(file) {
  if (file.size === 0) return "The file is empty: 0 bytes. Export the book as a PDF again, and choose that.";
  if (file.size > Number(form.dataset.mostBytes)) return `The file is larger than the ${form.dataset.most} that this service takes.`;
  const head = new TextDecoder("latin1").decode(await file.slice(0, HEAD).arrayBuffer());
  return head.includes("%PDF-") ? "" : "The file is not a PDF. Export the book as a PDF, and choose that.";
}

function send() {
  const request = new XMLHttpRequest();
  request.open("POST", form.action);
  request.setRequestHeader("Accept", "application/json");
  request.responseType = "json";
  request.upload.addEventListener("progress", (event) => {
    if (event.lengthComputable) busy(`${Math.floor((100 * event.loaded) / event.total)} % ${input.multiple ? "of them have" : "of the file has"} arrived`);
  });
  request.addEventListener("load", () => answered(request));
  request.addEventListener("error", () => {
    busy("");
    say("The service does not answer. What you chose is still here; send it again in a moment.");
  });
  busy("The file is on its way");
  request.send(new FormData(form));
}

function answered(request) {
  const answer = request.response;
  if (answer && answer.location) {
    window.location.assign(answer.location);
    return;
  }
  busy("");
  say((answer && answer.problem) || "The service could not take the file. What you chose is still here; send it again.");
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  say("");
  const wrong = input.multiple ? "" : await refusal(input.files[0]); // of several, the service refuses each by itself
  if (wrong) say(wrong);
  else send();
});

window.addEventListener("pageshow", () => busy("")); // back from the inspection: the button works again

drop.querySelector(".by-drag").hidden = false;
for (const name of ["dragenter", "dragover"]) {
  drop.addEventListener(name, (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
}
drop.addEventListener("dragleave", (event) => {
  if (!drop.contains(event.relatedTarget)) drop.classList.remove("over");
});
drop.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  if (event.dataTransfer.files.length !== 1 && !input.multiple) {
    say("Drop one file: the inside of the book.");
    return;
  }
  say("");
  input.files = event.dataTransfer.files;
});
