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
