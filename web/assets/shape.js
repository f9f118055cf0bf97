// The volume appears while the measures are typed; without scripts a button
// asks for it.
export function startVesselForm(form) {
  const out = form.querySelector("[data-volume]");
  let timer = 0;
  let round = 0;
  async function ask() {
    const q = new URLSearchParams();
    const shape = form.querySelector("[name=shape]:checked").value;
    for (const [name, v] of new FormData(form)) {
      if (typeof v !== "string" || v === "" || name === "id") continue;
      if (name.includes(".") && !name.startsWith(shape + ".")) continue;
      q.append(name === "vessel" ? "id" : name, v);
    }
    const mine = ++round;
    try {
      const answer = await fetch("/farm/vessel?" + q, { headers: { Accept: "application/json" } });
      const got = await answer.json();
      if (mine !== round || !answer.ok) return;
      const b = document.createElement("b");
      b.textContent = got.volume || "";
      const rest = document.createElement("span");
      rest.className = "quiet";
      rest.textContent = got.error ? got.error : got.surface || "";
      out.replaceChildren(b, " ", rest);
    } catch {
      // no signal: the line stays as it was
    }
  }
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, 350);
  });
}
