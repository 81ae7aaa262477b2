// Copies what stands in the field. Without this script it is marked and copied by hand.
"use strict";

const field = document.getElementById("copied");
const button = document.getElementById("copy");
const said = document.getElementById("copy-said");

async function copy() {
  try {
    await navigator.clipboard.writeText(field.value);
    said.textContent = "Copied.";
  } catch { // where the page did not come by https, browsers have no such thing
    field.focus();
    field.select();
    said.textContent = "It is marked: copy it by the keyboard.";
  }
}

button.hidden = false;
button.addEventListener("click", copy);
