// Tap a chart for its values: the server wrote what each moment says, this only
// chooses which one is shown.
export function startPicker(el) {
  const labels = (el.dataset.labels || "").split(";").map((t) => t.split("|"));
  const charts = Array.from(el.querySelectorAll("svg[data-xy]"), (svg) => ({
    svg,
    places: svg.dataset.xy.split(" ").map((p) => (p === "-" ? null : p.split(",").map(Number))),
    line: svg.querySelector(".pick"),
    dot: svg.querySelector(".pick-dot"),
  }));
  if (labels.length < 2 || charts.length === 0) return;
  const range = document.createElement("input");
  range.type = "range";
  range.min = "0";
  range.max = String(labels.length - 1);
  range.value = el.dataset.start || "0";
  range.setAttribute("aria-label", el.dataset.label);
  el.querySelector("figure").after(range);

  function show(i) {
    const [when, value, spread] = labels[i];
    el.querySelector("[data-when]").textContent = when;
    el.querySelector("[data-value]").textContent = value;
    el.querySelector("[data-spread]").textContent = spread;
    range.setAttribute("aria-valuetext", `${when}: ${value}, ${spread}`);
    for (const c of charts) {
      const p = c.places[i];
      if (!c.line || !c.dot) continue;
      c.line.style.display = c.dot.style.display = p ? "" : "none";
      if (!p) continue;
      c.line.setAttribute("d", c.line.getAttribute("d").replace(/^M[\d.]+/, "M" + p[0]));
      c.dot.setAttribute("cx", p[0]);
      c.dot.setAttribute("cy", p[1]);
    }
  }
  range.addEventListener("input", () => show(Number(range.value)));
  for (const c of charts) {
    const at = (event) => {
      const box = c.svg.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * c.svg.viewBox.baseVal.width;
      let best = -1;
      c.places.forEach((p, i) => {
        if (p && (best < 0 || Math.abs(p[0] - x) < Math.abs(c.places[best][0] - x))) best = i;
      });
      if (best >= 0) {
        range.value = String(best);
        show(best);
      }
    };
    c.svg.addEventListener("pointerdown", at);
    c.svg.addEventListener("pointermove", (event) => {
      if (event.buttons) at(event);
    });
  }
  show(Number(range.value));
}
