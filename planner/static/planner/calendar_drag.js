// Take a session or a match to another day with a mouse. Nothing moves by that: it opens the form that moves it with
// the new day filled in, and that form says what follows. Touch and keyboard take the "Move" link to the same form.
const days = document.querySelector("[data-drag-taken]");
const said = document.getElementById("said");
let taken = null;
let over = null;

const tell = (words, day) => {
  said.textContent = words.replace("{entry}", taken.dataset.name).replace("{day}", day?.dataset.dayName ?? "");
};

const mark = (day) => {
  over?.classList.remove("dropping");
  over = day;
  over?.classList.add("dropping");
};

const otherDay = (event) => {
  const day = event.target.closest?.("[data-day]");
  return taken && day && !day.contains(taken) ? day : null;
};

if (days && matchMedia("(hover: hover) and (pointer: fine)").matches) {
  for (const entry of days.querySelectorAll("[data-entry]")) {
    entry.draggable = true;
    // A link is dragged by itself otherwise, and its address would be what is dropped.
    for (const link of entry.querySelectorAll("a")) link.draggable = false;
  }
  days.addEventListener("dragstart", (event) => {
    taken = event.target.closest("[data-entry]");
    if (!taken) return;
    event.dataTransfer.effectAllowed = "move";
    event.dataTransfer.setData("text/plain", taken.dataset.name);
    tell(days.dataset.dragTaken);
  });
  days.addEventListener("dragover", (event) => {
    const day = otherDay(event);
    mark(day);
    if (day) event.preventDefault();
  });
  days.addEventListener("drop", (event) => {
    const day = otherDay(event);
    if (!day) return;
    event.preventDefault();
    tell(days.dataset.dragOpens, day);
    location.assign(`${taken.dataset.entry}?day=${day.dataset.day}`);
  });
  days.addEventListener("dragend", (event) => {
    if (taken && event.dataTransfer.dropEffect === "none") tell(days.dataset.dragLeft);
    mark(null);
    taken = null;
  });
}
