// Keep open what was open: the list of players is replaced as a whole after an edit.
let open = new Set();
document.addEventListener("htmx:beforeSwap", () => {
  open = new Set([...document.querySelectorAll("#needs details[open]")].map((each) => each.id));
});
document.addEventListener("htmx:oobAfterSwap", (event) => {
  if (event.detail.target.id !== "needs") return;
  for (const each of document.querySelectorAll("#needs details")) each.open ||= open.has(each.id);
});

// A control that was pressed may be gone after the swap: go on reading at what the edit did.
document.addEventListener("htmx:afterSettle", (event) => {
  if (document.activeElement && document.activeElement !== document.body) return;
  const next = event.detail.elt.querySelector?.(".told, .swaps, .edit select, .change a");
  next?.focus({ preventScroll: next.matches(".change a") });
});
