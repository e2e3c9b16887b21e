// A button that copies a field; without JavaScript the field is there to be selected.
for (const place of document.querySelectorAll("[data-copy]")) {
  const field = document.getElementById(place.dataset.copy);
  place.hidden = false;
  place.querySelector("button").addEventListener("click", async () => {
    field.select();
    const said = document.getElementById("said");
    try {
      await navigator.clipboard.writeText(field.value);
      said.textContent = place.dataset.copied;
    } catch {
      said.textContent = place.dataset.notCopied;
    }
  });
}
