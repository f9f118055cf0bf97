// Everything here is an extra: each page works without it.
import { startOutbox } from "./outbox.js";
import { startNote } from "./note.js";
import { startPicker } from "./pick.js";
import { startVesselForm } from "./shape.js";

startOutbox();
for (const form of document.querySelectorAll("[data-note]")) startNote(form);
for (const el of document.querySelectorAll(".picker")) startPicker(el);
for (const form of document.querySelectorAll("[data-vessel-form]")) startVesselForm(form);

// A zone that the device knows is offered, never written by itself.
for (const input of document.querySelectorAll("[data-zone]")) {
  if (!input.value) input.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
}

// Where the browser trusts the address, the sheet opens without signal too.
if ("serviceWorker" in navigator && window.isSecureContext) {
  navigator.serviceWorker.register("/sw.js").catch(() => {});
  // A page out of the store says that it is old.
  if (navigator.serviceWorker.controller) {
    fetch("/healthz", { cache: "no-store" }).catch(() => {
      const p = document.createElement("p");
      p.className = "held stale";
      p.setAttribute("role", "status");
      p.textContent = document.body.dataset.stale;
      (document.querySelector(".note-said") || document.querySelector("main").firstElementChild).before(p);
    });
  }
}
