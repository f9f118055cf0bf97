// Tapping a gel: the edge of the wells, the ladder from the longest band on, and
// the bands of each lane. A tap writes its way into the field that could as well
// be typed; the server sizes and calls.
function startGel(box) {
  const tools = document.querySelector("[data-gel-tools]");
  const form = document.querySelector("[data-gel-form]");
  const marks = box.querySelector("[data-marks]");
  const said = tools.querySelector("[data-gel-said]");
  const tool = tools.querySelector("[data-tool]");
  const known = tools.querySelector("[data-ladder]");
  const rows = form.querySelector("[data-ladder-rows]");
  const tall = form.querySelector("[data-tall]");
  const taps = [];
  let well = null;
  tools.hidden = false;
  marks.setAttribute("viewBox", "0 0 1000 1000");

  const mm = (y) => ((y - well) * (Number(tall.value.replace(",", ".")) || 60)).toFixed(1);
  const lengths = () => known.value.split(" ");
  const line = (x, y, kind) => {
    const l = document.createElementNS("http://www.w3.org/2000/svg", "line");
    const half = kind === "of-well" ? 1000 : 45;
    l.setAttribute("x1", String(Math.max(0, 1000 * x - half)));
    l.setAttribute("x2", String(Math.min(1000, 1000 * x + half)));
    l.setAttribute("y1", String(1000 * y));
    l.setAttribute("y2", String(1000 * y));
    if (kind) l.setAttribute("class", kind);
    marks.append(l);
  };
  // What was tapped is written anew each time, so that one tap can be taken back.
  const write = () => {
    marks.replaceChildren();
    well = null;
    const ladder = [];
    const lanes = {};
    for (const t of taps) {
      if (t.tool === "well") well = t.y;
    }
    for (const t of taps) {
      line(t.x, t.y, t.tool === "well" ? "of-well" : t.tool === "ladder" ? "of-ladder" : "");
      if (well === null) continue;
      if (t.tool === "ladder") ladder.push(mm(t.y));
      else if (t.tool !== "well") (lanes[t.tool] ||= []).push(mm(t.y));
    }
    const bp = lengths();
    if (ladder.length > 0) {
      ladder.sort((a, b) => a - b);
      rows.value = ladder.slice(0, bp.length).map((d, i) => bp[i] + " " + d).join("\n");
    }
    for (const input of form.querySelectorAll("[data-lane]")) {
      const list = lanes[input.dataset.lane];
      if (list) input.value = list.sort((a, b) => a - b).join(" ");
    }
    const next = ladder.length;
    if (well === null) said.textContent = said.dataset.needWell;
    else if (tool.value === "ladder") said.textContent = next < bp.length ? said.dataset.next.replace("{bp}", bp[next]) : said.dataset.ladderDone;
    else said.textContent = "";
  };
  box.addEventListener("click", (e) => {
    const r = box.getBoundingClientRect();
    const t = { tool: tool.value, x: (e.clientX - r.left) / r.width, y: (e.clientY - r.top) / r.height };
    if (t.tool !== "well" && well === null) {
      said.textContent = said.dataset.needWell;
      return;
    }
    if (t.tool === "ladder" && taps.filter((o) => o.tool === "ladder").length >= lengths().length) {
      said.textContent = said.dataset.ladderDone;
      return;
    }
    taps.push(t);
    if (t.tool === "well") tool.value = "ladder";
    write();
  });
  tools.querySelector("[data-back]").addEventListener("click", () => {
    const gone = taps.pop();
    if (gone && gone.tool !== "well" && gone.tool !== "ladder") form.querySelector(`[data-lane="${gone.tool}"]`).value = "";
    if (gone && gone.tool === "ladder") rows.value = "";
    write();
  });
  for (const el of [tall, known, tool]) el.addEventListener("change", write);
  write();
}

for (const box of document.querySelectorAll("[data-gel]")) startGel(box);
