// The amounts move while typing: the server works them out, this puts its answer
// in the place of the old one. Ticks stay as they are.
function startMix(form) {
  const out = document.querySelector("[data-mix-out]");
  const go = form.querySelector("[data-mix-go]");
  let timer = 0;
  let round = 0;

  const query = () => {
    const q = new URLSearchParams();
    for (const [name, v] of new FormData(form)) {
      if (typeof v === "string" && (v !== "" || name === "water")) q.append(name, v);
    }
    return q;
  };
  const ready = () => {
    for (const b of out.querySelectorAll("[data-print]")) {
      b.hidden = false;
      b.addEventListener("click", () => print());
    }
  };

  async function ask() {
    const mine = ++round;
    const q = query();
    let text;
    try {
      const answer = await fetch(form.dataset.mix + "?" + q, { headers: { Accept: "text/html" } });
      if (!answer.ok) return;
      text = await answer.text();
    } catch {
      go.hidden = false; // no signal: the sheet stays as it was
      return;
    }
    if (mine !== round) return;
    const ticked = new Set(Array.from(out.querySelectorAll("input[type=checkbox]:checked"), (box) => box.name));
    const open = Array.from(out.querySelectorAll("details"), (d) => d.open);
    // Whoever stands on a field of the answer stays there.
    const at = out.contains(document.activeElement) ? document.activeElement.name : "";
    const fresh = new DOMParser().parseFromString(text, "text/html");
    out.replaceChildren(...fresh.body.childNodes);
    for (const box of out.querySelectorAll("input[type=checkbox]")) box.checked = ticked.has(box.name);
    const again = out.querySelectorAll("details");
    if (again.length === open.length) again.forEach((d, i) => (d.open = open[i]));
    if (at) out.querySelector(`[name="${CSS.escape(at)}"]`)?.focus();
    ready();
    history.replaceState(null, "", "/mix?" + q);
  }

  go.hidden = true;
  ready();
  const later = (ms) => {
    clearTimeout(timer);
    timer = setTimeout(ask, ms);
  };
  form.addEventListener("input", (e) => {
    if (e.target.tagName !== "SELECT") later(180);
  });
  // Lots are chosen in the sheet, and belong to the form.
  document.addEventListener("change", (e) => {
    const el = e.target;
    if (el.form !== form || el.tagName !== "SELECT") return;
    // Another vessel or another way has other fields.
    if (["vessel", "with", "by"].includes(el.name)) form.requestSubmit();
    else later(0);
  });
}

for (const form of document.querySelectorAll("[data-mix]")) startMix(form);
