"use strict";
/* What every page has: mistakes that are told in a line, elements, and notes that are kept on the device or in a file.
   Nothing is sent or fetched. */

class Mistake extends Error {}

const byId = (id) => document.getElementById(id);

function el(tag, properties = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name in made && !name.includes("-") && name !== "list") made[name] = value;
    else made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

/* ---- notes, by a key of what they belong to ---- */

const STORE = "gearsearch-pocket";
const EMPTY_NOTE = { ticks: [], measured: "", notes: "", fields: {} };
const kept = { notes: Object.create(null), unit: "", works: true };

const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);
const isText = (value) => typeof value === "string";

function soundNotes(value) {
  if (!isObject(value) || value.gearsearch_notes !== 1 || !isObject(value.notes)) {
    throw new Mistake("this file holds no notes; choose one that Save notes has made");
  }
  const found = Object.create(null);
  for (const [key, note] of Object.entries(value.notes)) found[key] = soundNote(note);
  return found;
}

function soundNote(note) {
  const { ticks, measured, notes, fields = {} } = isObject(note) ? note : {};
  const isSound = Array.isArray(ticks) && isText(measured) && isText(notes) && isObject(fields);
  if (!isSound || !Object.values(fields).every(isText)) {
    throw new Mistake("this file of notes is damaged; none of it was read");
  }
  return { ticks: ticks.filter(isText), measured, notes, fields };
}

function restore() {
  try {
    localStorage.setItem(STORE, localStorage.getItem(STORE) || "{}");
    takeHeld();
  } catch {
    kept.works = false;
  }
  byId("kept").textContent = kept.works ? "Ticks and notes stay on this device." : "This browser keeps nothing here: save the notes to a file.";
}

/* What is on the device now: another page that is open may have added to it. */
function takeHeld() {
  const held = JSON.parse(localStorage.getItem(STORE));
  if (held.unit === "mm" || held.unit === "in") kept.unit = held.unit;
  if (held.gearsearch_notes) kept.notes = soundNotes(held);
}

const saved = () => ({ gearsearch_notes: 1, unit: kept.unit, notes: kept.notes });

/* Keep the notes of some keys, and the unit, beside all that is on the device. */
function keep(...keys) {
  const [unit, mine] = [kept.unit, keys.map((key) => [key, kept.notes[key]])];
  try {
    if (!kept.works) return;
    takeHeld();
    kept.unit = unit;
    for (const [key, note] of mine) kept.notes[key] = note;
    localStorage.setItem(STORE, JSON.stringify(saved()));
  } catch {
    byId("kept").textContent = "This device has no room left: save the notes to a file.";
  }
}

const noteOf = (key) => kept.notes[key] || { ...EMPTY_NOTE };

function changeNote(key, change) {
  kept.notes[key] = { ...noteOf(key), ...change };
  keep(key);
}

/* A box ticked, or no longer. */
function tickNote(key, id, isTicked) {
  const ticks = noteOf(key).ticks.filter((tick) => tick !== id);
  changeNote(key, { ticks: isTicked ? [...ticks, id] : ticks });
}

function saveNotes() {
  keep();
  const url = URL.createObjectURL(new Blob([JSON.stringify(saved(), null, 1)], { type: "application/json" }));
  el("a", { href: url, download: "gearsearch-notes.json" }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

/* Notes of a file taken over; what shows them anew follows. */
async function readNotes(event, follow) {
  const [file] = event.target.files;
  if (!file) return;
  try {
    const read = soundNotes(JSON.parse(await file.text()));
    Object.assign(kept.notes, read);
    keep(...Object.keys(read));
    byId("kept").textContent = `Notes read back from ${file.name}.`;
    follow();
  } catch (mistake) {
    byId("kept").textContent = mistake instanceof Mistake ? mistake.message : "this file cannot be read as notes; choose one that Save notes has made";
  }
  event.target.value = "";
}
