/* A set-up sheet on a phone or tablet: boxes stay ticked, and what is filled in is kept, until the sheet is another. */

const KEY = document.body.dataset.key;
const OWN = ["measured", "notes"]; // the same in the pocket chart; all else are fields of the sheet

const fields = () => [...document.querySelectorAll("[data-keep]")];

function showNote() {
  const note = noteOf(KEY);
  for (const field of fields()) {
    const { keep: name } = field.dataset;
    if (field.type === "checkbox") field.checked = note.ticks.includes(name);
    else field.value = (OWN.includes(name) ? note[name] : note.fields[name]) || "";
  }
}

function takeNote({ target }) {
  const name = target.dataset.keep;
  if (!name) return;
  if (target.type === "checkbox") tickNote(KEY, name, target.checked);
  else if (OWN.includes(name)) changeNote(KEY, { [name]: target.value });
  else changeNote(KEY, { fields: { ...noteOf(KEY).fields, [name]: target.value } });
}

function startSheet() {
  restore();
  showNote();
  document.addEventListener("input", takeNote);
  byId("print").addEventListener("click", () => window.print());
  byId("save").addEventListener("click", saveNotes);
  byId("read").addEventListener("change", (event) => readNotes(event, showNote));
  document.documentElement.className = "live";
}

startSheet();
