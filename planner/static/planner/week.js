// Keep open what was open: the list of players is replaced as a whole after an edit.
let open = new Set();
document.addEventListener("htmx:beforeSwap", () => {
  open = new Set([...document.querySelectorAll("#needs details[open]")].map((each) => each.id));
});
document.addEventListener("htmx:oobAfterSwap", (event) => {
  if (event.detail.target.id !== "needs") return;
  for (const each of document.querySelectorAll("#needs details")) each.open ||= open.has(each.id);
});

// A control that was pressed may be gone after the swap: go on in the same slot, at what the edit did.
let slot = null;
document.addEventListener("htmx:beforeRequest", (event) => {
  slot = event.detail.elt.closest(".slot")?.id;
});
document.addEventListener("htmx:afterSettle", () => {
  const place = slot && document.getElementById(slot);
  if (!place || (document.activeElement && document.activeElement !== document.body)) return;
  const next = [".told", ".swaps", ".edit select", ".change a"].map((each) => place.querySelector(each)).find(Boolean);
  next?.focus();
});
