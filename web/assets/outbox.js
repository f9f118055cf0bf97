// Notes that could not be sent yet. Each stands under its own name in the
// browser's storage, so two open pages never write over each other; the name is
// the note's identifier, which sorts by time, so the order is kept. A note is
// taken away only after the server has said that it has it.
const prefix = "sodalake.note.";
const listeners = [];
let running = null;
let timer = 0;

function names() {
  const all = [];
  for (let i = 0; i < localStorage.length; i++) {
    const key = localStorage.key(i);
    if (key.startsWith(prefix)) all.push(key);
  }
  return all.sort();
}

export function waiting() {
  return names().map((key) => ({ key, note: JSON.parse(localStorage.getItem(key)) })).filter((w) => w.note);
}

// keep stores a note; it throws where the browser stores nothing, and then the
// form is sent the plain way.
export function keep(id, note) {
  localStorage.setItem(prefix + id, JSON.stringify(note));
  changed();
  return prefix + id;
}

export function onChange(f) {
  listeners.push(f);
}

function changed() {
  for (const f of listeners) f();
}

function post(note) {
  return fetch(note.path || "/note", {
    method: "POST",
    headers: { "Content-Type": "application/x-www-form-urlencoded", Accept: "application/json" },
    body: note.form,
  });
}

// flush sends what waits, in order, one after the other, and gives the answers
// by key. What is kept while a round is under way belongs to that round. What the
// server refuses is kept with its reason and does not hold up the others; what
// cannot be sent stops the round and is tried again.
export function flush() {
  running ||= round().finally(() => {
    running = null;
  });
  return running;
}

async function round() {
  clearTimeout(timer);
  const answers = {};
  for (;;) {
    const next = waiting().find((w) => !w.note.refused);
    if (!next) return answers;
    const { key, note } = next;
    let answer;
    try {
      answer = await post(note);
    } catch {
      again();
      return answers;
    }
    if (answer.ok) {
      answers[key] = await answer.json().catch(() => ({}));
      localStorage.removeItem(key);
      changed();
      continue;
    }
    if (answer.status >= 500 || answer.status === 401 || answer.status === 403 || answer.status === 429) {
      again();
      return answers;
    }
    const problem = await answer.json().catch(() => ({}));
    note.refused = problem.detail || String(answer.status);
    note.hint = problem.hint || "";
    localStorage.setItem(key, JSON.stringify(note));
    answers[key] = { refused: note.refused, hint: note.hint, key };
    changed();
  }
}

function again() {
  clearTimeout(timer);
  timer = setTimeout(flush, 20000);
}

export function drop(key) {
  localStorage.removeItem(key);
  changed();
}

function show() {
  let all;
  try {
    all = waiting();
  } catch {
    return;
  }
  for (const el of document.querySelectorAll("[data-outbox]")) {
    const refused = all.filter((w) => w.note.refused).length;
    const n = all.length - refused;
    el.hidden = all.length === 0;
    const parts = [];
    if (n === 1) parts.push(el.dataset.single);
    else if (n > 1) parts.push(el.dataset.many.replace("{n}", String(n)));
    if (refused > 0) parts.push(el.dataset.refused);
    el.textContent = parts.join(", ");
  }
}

export function startOutbox() {
  onChange(show);
  show();
  try {
    if (waiting().some((w) => !w.note.refused)) flush();
  } catch {
    return;
  }
  addEventListener("online", () => flush());
  addEventListener("storage", show);
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) flush();
  });
}
