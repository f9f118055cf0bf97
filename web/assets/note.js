import { keep, flush, drop, waiting } from "./outbox.js";

// The keypad, what was expected of the number, and sending through the outbox.
export function startNote(form) {
  const value = form.querySelector("[data-value]");
  const pad = form.querySelector("[data-pad]");
  const said = form.querySelector("[data-said]");
  const expect = form.querySelector("[data-expect]");
  const summary = form.querySelector("[data-summary]");
  const none = expect.textContent;

  // A sheet out of the browser's store carries an identifier that may have been
  // used: each sheet takes a fresh one.
  const id = form.querySelector("[name=id]");
  id.value = nextID("", new Date());
  const photoID = form.querySelector("[name=photo_id]");
  if (photoID) photoID.value = nextID(id.value, new Date());

  const press = (key) => {
    if (key === "rub") value.value = value.value.slice(0, -1);
    else if (key === "." && value.value.includes(".")) return;
    else if (value.value.length < 8) value.value += key;
    value.dispatchEvent(new Event("input", { bubbles: true }));
  };
  for (const key of ["1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0", "rub"]) {
    const b = document.createElement("button");
    b.type = "button";
    b.className = "key-btn";
    if (key === "rub") {
      b.setAttribute("aria-label", pad.dataset.rub);
      const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      svg.setAttribute("viewBox", "0 0 34 24");
      svg.setAttribute("width", "34");
      svg.setAttribute("height", "24");
      svg.setAttribute("aria-hidden", "true");
      const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
      for (const [k, v] of Object.entries({ d: "M9 2H32V22H9L1 12Z M15 8l8 8m0-8l-8 8", fill: "none", stroke: "currentColor", "stroke-width": "2.5" })) path.setAttribute(k, v);
      svg.append(path);
      b.append(svg);
    } else {
      b.textContent = key;
      if (key === ".") b.setAttribute("aria-label", pad.dataset.point);
    }
    b.addEventListener("click", () => press(key));
    pad.append(b);
  }
  pad.hidden = false;
  // The pad is the keyboard here; a person with keys of their own still types.
  if (matchMedia("(pointer: coarse)").matches) value.inputMode = "none";

  const chosen = (name) => {
    const el = form.querySelector(`[name=${name}]:checked`) || form.querySelector(`select[name=${name}]`);
    return el ? el.value : "";
  };
  const label = (name) => {
    const el = form.querySelector(`[name=${name}]:checked`);
    if (el) return el.closest("label").textContent.trim();
    const list = form.querySelector(`select[name=${name}]`);
    return list && list.selectedOptions[0] ? list.selectedOptions[0].textContent.trim() : "";
  };
  const kind = () => form.querySelector("[name=kind]:checked");
  const number = () => Number(value.value.replace(",", "."));

  function update() {
    const k = kind();
    const what = [label("vessel"), k ? k.closest("label").textContent.trim() : ""].filter(Boolean).join(", ");
    const unit = k ? k.dataset.unit : "";
    summary.textContent = [what, value.value ? value.value + (unit ? "\u00a0" + unit : "") : ""].filter(Boolean).join(" ");
    const e = form.querySelector(`[data-expects] [data-vessel="${CSS.escape(chosen("vessel"))}"][data-kind="${CSS.escape(chosen("kind"))}"]`);
    if (!e) {
      expect.textContent = none;
      if (k && k.dataset.mode === "number" && !e) expect.textContent = "";
      return;
    }
    let text = e.textContent;
    if (value.value && !Number.isNaN(number())) {
      const low = Number(e.dataset.low), high = Number(e.dataset.high);
      // Eight times in ten a good reading lies inside; half a width beyond is
      // still ordinary.
      const slack = (high - low) / 2;
      text += " " + (number() >= low - slack && number() <= high + slack ? form.dataset.fits : form.dataset.outside);
    }
    expect.textContent = text;
  }
  form.addEventListener("input", update);
  form.addEventListener("change", (e) => {
    if (e.target.name === "kind" || e.target.name === "vessel") value.value = "";
    update();
  });
  update();

  const say = (text) => {
    said.textContent = text;
  };

  // A photo is sent by itself: it would not fit into the outbox. Until it has
  // been taken in it stands in the form, with the time of the first try.
  const files = [...form.querySelectorAll("input[type=file]")];
  const chosenPhoto = () => files.map((f) => f.files[0]).find(Boolean);
  const photoSummary = form.querySelector("[data-photo-summary]");
  const photoWord = photoSummary ? photoSummary.textContent : "";
  let firstTry = "";
  const showPhoto = () => {
    firstTry = "";
    if (photoSummary) photoSummary.textContent = chosenPhoto() ? form.dataset.photoChosen : photoWord;
    if (chosenPhoto() && chosenPhoto().size > Number(form.dataset.photoMost)) say(form.dataset.photoLarge);
  };
  for (const f of files) {
    f.addEventListener("change", () => {
      for (const other of files) if (other !== f && f.files[0]) other.value = "";
      showPhoto();
    });
  }
  async function sendWithPhoto(photo) {
    if (photo.size > Number(form.dataset.photoMost)) {
      say(form.dataset.photoLarge);
      return;
    }
    firstTry ||= new Date().toISOString();
    const data = new FormData();
    for (const [name, v] of new FormData(form)) {
      if (typeof v !== "string" || v === "") continue;
      if (name.includes(".") && !name.startsWith(chosen("kind") + ".")) continue;
      data.append(name, v);
    }
    data.set("made_at", firstTry);
    data.append("photo", photo, photo.name || "photo");
    const what = summary.textContent;
    say(what + ": …");
    let answer;
    try {
      answer = await fetch("/note", { method: "POST", headers: { Accept: "application/json" }, body: data });
    } catch {
      say(form.dataset.photoWaits);
      return;
    }
    const told = await answer.json().catch(() => ({}));
    if (!answer.ok) {
      say(what + ": " + (told.detail || answer.status) + (told.hint ? ". " + told.hint : ""));
      return;
    }
    value.value = "";
    for (const f of files) f.value = "";
    for (const el of form.querySelectorAll(".extras input:not([type=file])")) el.value = "";
    for (const name of ["id", "photo_id"]) {
      const el = form.querySelector(`[name=${name}]`);
      el.value = nextID(el.value, new Date());
    }
    const item = form.querySelector("[name=item]");
    if (item) item.remove();
    showPhoto();
    update();
    say(told.said || what);
  }

  form.addEventListener("submit", async (event) => {
    const k = kind();
    if (k && k.dataset.mode === "number" && !value.value && !("optional" in k.dataset)) {
      event.preventDefault();
      say(form.dataset.empty);
      value.focus();
      return;
    }
    const photo = chosenPhoto();
    if (photo) {
      event.preventDefault();
      await sendWithPhoto(photo);
      return;
    }
    // Only the chosen kind's own fields are sent.
    const data = new URLSearchParams();
    for (const [name, v] of new FormData(form)) {
      if (typeof v !== "string") continue;
      if (name.includes(".") && !name.startsWith(chosen("kind") + ".")) continue;
      if (v !== "") data.append(name, v);
    }
    const id = form.querySelector("[name=id]").value;
    const made = new Date();
    data.set("made_at", made.toISOString());
    let key;
    try {
      key = keep(id, { form: data.toString(), text: summary.textContent, made: made.toISOString() });
    } catch {
      return; // no storage: the form is sent the plain way
    }
    event.preventDefault();
    const what = summary.textContent;
    value.value = "";
    for (const el of form.querySelectorAll(".extras input, .extras select")) el.value = el.tagName === "SELECT" && el.name.endsWith(".salt") ? el.value : "";
    form.querySelector("[name=id]").value = nextID(id, made);
    const item = form.querySelector("[name=item]");
    if (item) item.remove();
    update();
    say(what + ": …");
    const answer = (await flush())[key];
    if (answer && answer.refused) {
      say(what + ": " + answer.refused + (answer.hint ? ". " + answer.hint : ""));
      drop(answer.key);
      return;
    }
    if (waiting().some((w) => w.key === key)) {
      say(what + ": " + form.dataset.queued);
      return;
    }
    say((answer && answer.said) || what);
  });
}

// nextID makes an identifier of the same form as the server's: time in
// milliseconds and 80 random bits in Crockford's base 32. It sorts after the
// one before even where two are made in one millisecond.
const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
export function nextID(before, at) {
  let ms = at.getTime() + 1;
  let time = "";
  for (let i = 0; i < 10; i++) {
    time = letters[ms % 32] + time;
    ms = Math.floor(ms / 32);
  }
  if (before && time <= before.slice(0, 10)) time = bump(before.slice(0, 10));
  const random = crypto.getRandomValues(new Uint8Array(16));
  return time + Array.from(random, (b) => letters[b % 32]).join("");
}

function bump(time) {
  const out = [...time];
  for (let i = out.length - 1; i >= 0; i--) {
    const n = letters.indexOf(out[i]) + 1;
    if (n < 32) {
      out[i] = letters[n];
      break;
    }
    out[i] = "0";
  }
  return out.join("");
}
