import { keep, flush, waiting, drop } from "./outbox.js";
import { nextID } from "./note.js";

// The running sheet goes through the outbox: a step that was tapped while the
// signal was gone is sent later, with the time at which it was done.
for (const form of document.querySelectorAll("[data-send]")) {
  // A sheet that was kept without signal is opened again and again: each time its
  // forms are new ones.
  form.querySelector("[name=id]").value = nextID("", new Date());
  form.addEventListener("submit", async (event) => {
    const data = new URLSearchParams();
    for (const [name, v] of new FormData(form)) if (typeof v === "string" && v !== "") data.append(name, v);
    const field = form.querySelector("[name=id]");
    const id = field.value;
    const made = new Date();
    data.set("made_at", made.toISOString());
    const chosen = form.querySelector("select");
    const what = chosen ? chosen.selectedOptions[0].textContent : "";
    let key;
    try {
      key = keep(id, { form: data.toString(), text: what, made: made.toISOString(), path: new URL(form.action).pathname });
    } catch {
      return; // no storage: the form is sent the plain way
    }
    event.preventDefault();
    field.value = nextID(id, made);
    const said = form.querySelector("[data-said]");
    const say = (text) => {
      said.hidden = false;
      said.textContent = text;
    };
    const answer = (await flush())[key];
    if (answer && answer.refused) {
      say(what + ": " + answer.refused + (answer.hint ? ". " + answer.hint : ""));
      drop(answer.key);
      return;
    }
    if (waiting().some((w) => w.key === key)) {
      say(what + ": " + form.dataset.queued);
      form.reset();
      field.value = nextID(id, new Date());
      return;
    }
    location.reload();
  });
}
