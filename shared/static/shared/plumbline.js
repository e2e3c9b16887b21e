// Announce what a swap changed: an element with data-said tells the status region.
document.addEventListener("htmx:afterSwap", (event) => {
  const told = event.detail.elt.querySelector?.("[data-said]") ?? event.detail.elt.closest?.("[data-said]");
  if (told) document.getElementById("said").textContent = told.dataset.said;
});

// Ask before what cannot be undone; without JavaScript the page behind the button asks.
document.addEventListener("submit", (event) => {
  const question = event.target.dataset.confirm;
  if (question && !window.confirm(question)) event.preventDefault();
});

// An error answer still belongs on the page: show its message.
document.addEventListener("htmx:responseError", (event) => {
  document.getElementById("said").textContent =
    event.detail.xhr.getResponseHeader("X-Said") ?? "That did not work. Reload the page and try again.";
});
