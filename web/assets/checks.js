// The counters of the microscope sheet, what the look says while counting, and
// sending it through the outbox where it is of a vessel and carries no photo.
import { keep, flush, drop, waiting } from "./outbox.js";
import { nextID } from "./note.js";

function startLook(form) {
  const says = form.querySelector("[data-says]");
  const said = document.querySelector("[data-look-said]");
  const counts = [...form.querySelectorAll("[data-count]")];
  const files = [...form.querySelectorAll("input[type=file]")];
  const number = (el) => Math.max(0, Math.trunc(Number(el.value)) || 0);
  const field = (name) => form.querySelector(`[name="${name}"]`);
  const say = (text) => {
    said.hidden = false;
    said.textContent = text;
    said.scrollIntoView({ block: "nearest" });
  };
  // A sheet out of the browser's store carries an identifier that may be used.
  const fresh = () => {
    let id = "";
    for (const name of ["id", "id_smell", "id_colour", "photo_id"]) {
      id = nextID(id, new Date());
      field(name).value = id;
    }
  };
  fresh();
  form.querySelector("[data-ask]").hidden = true;
  for (const keys of form.querySelectorAll("[data-keys]")) {
    keys.hidden = false;
    const input = keys.parentElement.querySelector("[data-count]");
    for (const b of keys.querySelectorAll("[data-step]")) {
      b.addEventListener("click", () => {
        input.value = String(Math.max(0, number(input) + Number(b.dataset.step)));
        // A straight or a broken filament is one of one's own too.
        if (Number(b.dataset.step) > 0 && (input.name === "straight" || input.name === "broken")) {
          const own = field("own");
          if (number(own) < number(input)) own.value = input.value;
        }
        input.dispatchEvent(new Event("input", { bubbles: true }));
      });
    }
  }

  let timer = 0;
  let round = 0;
  async function ask() {
    const mine = ++round;
    const q = new URLSearchParams();
    for (const [name, v] of new FormData(form)) if (typeof v === "string" && v !== "") q.append(name, v);
    try {
      const answer = await fetch(form.dataset.look + "?" + q, { headers: { Accept: "text/html" } });
      if (!answer.ok || mine !== round) return;
      const doc = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (mine === round) says.replaceChildren(...doc.body.childNodes);
    } catch {
      const p = document.createElement("p");
      p.textContent = form.dataset.nosignal;
      if (mine === round) says.replaceChildren(p);
    }
  }
  const later = () => {
    clearTimeout(timer);
    timer = setTimeout(ask, 180);
  };
  form.addEventListener("input", later);
  form.addEventListener("change", (e) => {
    if (e.target.type === "file" && e.target.files[0] && e.target.files[0].size > Number(form.dataset.most)) say(form.dataset.large);
    later();
  });

  form.addEventListener("submit", async (event) => {
    const of = field("of").value;
    if (!of.startsWith("v:") || files.some((f) => f.files[0])) return; // the plain way
    const data = new URLSearchParams();
    const foreign = counts.filter((c) => c.name.startsWith("foreign."));
    const all = foreign.reduce((n, c) => n + number(c), 0);
    const own = number(field("own"));
    const made = new Date();
    const id = field("id").value;
    data.set("id", id);
    data.set("kind", "microscope");
    data.set("vessel", of.slice(2));
    data.set("made_at", made.toISOString());
    const set = (key, v) => v !== "" && data.set("microscope." + key, v);
    if (own + all > 0) {
      data.set("value", String(own));
      set("foreign_seen", String(all));
      if (own > 0) {
        set("straight_seen", String(number(field("straight"))));
        set("broken_seen", String(number(field("broken"))));
      }
    }
    const looked = form.querySelector("[data-looked]");
    if (looked) set("looked_ml", looked.value);
    for (const key of ["ph", "temp_c", "smell", "colour"]) set(key, field(key).value.trim());
    const text = [];
    if (number(field("fields")) > 0) text.push(form.dataset.fields.replace("{n}", String(number(field("fields")))));
    for (const c of foreign) if (number(c) > 0) text.push(c.dataset.label + " " + number(c));
    if (field("text").value.trim()) text.push(field("text").value.trim());
    set("text", text.join("; "));
    if (own + all === 0 && text.length === 0) return; // the server says what is missing
    let key;
    try {
      key = keep(id, { form: data.toString(), text: document.title, made: made.toISOString() });
    } catch {
      return;
    }
    event.preventDefault();
    const answer = (await flush())[key];
    if (answer && answer.refused) {
      say(answer.refused + (answer.hint ? ". " + answer.hint : ""));
      drop(answer.key);
      return;
    }
    say(waiting().some((w) => w.key === key) ? form.dataset.queued : (answer && answer.said) || "");
    for (const c of counts) c.value = "0";
    for (const name of ["ph", "temp_c", "smell", "colour", "text"]) field(name).value = "";
    fresh();
    later();
  });
}

for (const form of document.querySelectorAll("[data-look]")) startLook(form);
