// Taps work without a connection: each is kept on the device until the site has said that it holds it.
const form = document.getElementById("here");
const store = `plumbline-here-${form.dataset.session}`;
const waiting = document.getElementById("waiting");
const kept = () => JSON.parse(localStorage.getItem(store) ?? "[]");
const row = (player) => document.getElementById(`p${player}`);
const seenOf = (player) => form.elements[`seen-${player}`];
const AGAIN = 15_000; // milliseconds between two looks at what others marked
let sending = false;
let oneByOne = false; // the site refused several taps at once: which of them it does not want shows one by one
let loggedOut = false;

function newKey() {
  // crypto.randomUUID exists only on secure addresses; a club's own network may have none.
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// The clock of a device may be set back: on one device time only goes forward.
function now() {
  const last = Number(localStorage.getItem(`${store}-clock`) ?? 0);
  const moment = Math.max(Date.now(), last + 1);
  localStorage.setItem(`${store}-clock`, moment);
  return new Date(moment).toISOString();
}

function tap(player, state) {
  const before = row(player).dataset.state;
  const made = { key: newKey(), player, state, at: now(), seen: seenOf(player).value.split(",").filter(Boolean) };
  localStorage.setItem(store, JSON.stringify([...kept(), made]));
  show(player, state, made.key, []);
  offerUndo(player, before);
  tellWaiting();
  send();
}

function show(player, state, seen, rivals) {
  const line = row(player);
  if (!line) return;
  line.dataset.state = state;
  seenOf(player).value = seen;
  for (const button of line.querySelectorAll(".taps button"))
    button.setAttribute("aria-pressed", button.value === `${player}:${state}`);
  const pressed = line.querySelector("[aria-pressed=true]");
  line.querySelector(".state").textContent = pressed ? pressed.firstChild.textContent : form.dataset.open;
  const told = line.querySelector(".rivals");
  told.hidden = rivals.length === 0;
  told.lastElementChild.textContent = rivals.join("; ");
  count();
}

function count() {
  const lines = [...form.querySelectorAll("li[data-player]")].map((line) => line.dataset);
  const here = lines.filter((line) => line.state === "here" || line.state === "late");
  const counts = {
    here: here.length,
    open: lines.filter((line) => line.state === "open" && line.expected).length,
    contact: here.filter((line) => line.level !== "none" && line.level !== "absent").length,
    nc: here.filter((line) => line.level === "none").length,
  };
  if (lines.length === Number(form.dataset.all))
    for (const [name, value] of Object.entries(counts)) document.querySelector(`[data-count=${name}]`).textContent = value;
}

function offerUndo(player, state) {
  const place = document.getElementById("last");
  const button = document.createElement("button");
  Object.assign(button, { name: "tap", value: `${player}:${state}`, className: "second", textContent: form.dataset.undo });
  const line = row(player);
  const told = document.createElement("span");
  told.className = "soft";
  told.textContent = ` ${line.dataset.name}: ${line.querySelector(".state").textContent}`;
  place.replaceChildren(button, told);
}

function tellWaiting() {
  const taps = kept().length;
  waiting.hidden = false;
  waiting.dataset.taps = taps;
  const words = loggedOut ? waiting.dataset.login : waiting.dataset.some;
  waiting.textContent = taps ? words.replace("{taps}", taps) : waiting.dataset.none;
}

// All that waits in one message, in the order of the taps; only what the site has answered for is let go.
async function send() {
  if (sending) return;
  sending = true;
  const taps = oneByOne ? kept().slice(0, 1) : kept();
  const batch = new Set(taps.map((each) => each.key));
  let goOn = false;
  try {
    const token = form.elements.csrfmiddlewaretoken.value;
    const how = taps.length
      ? { method: "POST", body: JSON.stringify({ taps }), headers: { "X-CSRFToken": token, "Content-Type": "application/json" } }
      : {};
    const answer = await fetch(form.dataset.url, how);
    loggedOut = answer.redirected || answer.status === 403;
    if (answer.status === 422) {
      if (taps.length === 1) refuse(taps[0], (await answer.json()).said);
      oneByOne = goOn = true;
    } else if (answer.ok && !answer.redirected) {
      letGo(batch);
      showAll((await answer.json()).players);
      goOn = oneByOne;
    }
  } catch {
    // No connection: the taps stay where they are.
  } finally {
    sending = false;
    tellWaiting();
  }
  if (kept().length === 0) oneByOne = false;
  else if (goOn || kept().some((each) => !batch.has(each.key))) send(); // the next one, or tapped meanwhile
}

function letGo(keys) {
  localStorage.setItem(store, JSON.stringify(kept().filter((each) => !keys.has(each.key))));
}

// What can never be taken must not keep the others waiting; it is said, with the name and what was tapped.
function refuse(tap, why) {
  letGo(new Set([tap.key]));
  const line = row(tap.player);
  const name = line ? `${line.dataset.name}, ${line.querySelector(".state").textContent}: ` : "";
  document.getElementById("refused").append(Object.assign(document.createElement("p"), { textContent: name + why }));
}

function showAll(players) {
  const waits = new Set(kept().map((each) => String(each.player)));
  for (const [player, found] of Object.entries(players))
    if (!waits.has(player)) show(player, found.state, found.seen, found.rivals);
}

function find(words) {
  for (const line of form.querySelectorAll("li[data-player]"))
    line.hidden = !line.dataset.name.toLowerCase().includes(words.trim().toLowerCase());
}

form.addEventListener("submit", (event) => {
  const [player, state] = event.submitter?.value.split(":") ?? [];
  if (!state) return;
  event.preventDefault();
  tap(player, state);
});
document.getElementById("find").addEventListener("input", (event) => find(event.target.value));
for (const each of kept()) show(each.player, each.state, each.key, []);
addEventListener("online", send);
document.addEventListener("visibilitychange", () => document.hidden || send());
setInterval(() => document.hidden || send(), AGAIN);
send();
