// Objects and paths of a frame as rows of fields: the equal of the drawing for those who would rather type.

import * as model from "./model.js";
import { keyOf } from "./grass.js";

export class List {
  constructor(root, host) {
    this.root = root;
    this.host = host;
    this.templates = Object.fromEntries(["thing", "path"].map((what) => [what, root.querySelector(`template[data-row=${what}]`)]));
    for (const place of root.querySelectorAll("[data-rows]")) {
      place.addEventListener("change", (event) => this.changed(event));
      place.addEventListener("click", (event) => this.clicked(event));
    }
  }

  render() {
    const frame = this.host.now;
    const rows = [...frame.objects.map((thing) => ({ what: "thing", id: thing.id })), ...frame.paths.map((_path, at) => ({ what: "path", at }))];
    this.fill("all", rows);
    const { chosen } = this.host;
    this.fill("chosen", chosen ? [chosen.what === "point" ? { what: "path", at: chosen.at } : chosen] : []);
    this.root.querySelector("[data-nothing-yet]").hidden = rows.length > 0;
    this.root.querySelector("[data-chosen-panel]").hidden = !chosen;
  }

  fill(name, hits) {
    const place = this.root.querySelector(`[data-rows=${name}]`);
    const { field, key } = place.contains(document.activeElement) ? spotOf(document.activeElement) : {};
    place.replaceChildren(...hits.map((hit) => this.row(hit)));
    if (key) place.querySelector(`[data-key="${key}"] [data-field="${field}"]`)?.focus();
  }

  row(hit) {
    const row = this.templates[hit.what].content.firstElementChild.cloneNode(true);
    row.dataset.key = keyOf(hit);
    row.classList.toggle("is-chosen", this.host.isChosen(hit));
    const set = (field, value) => (row.querySelector(`[data-field=${field}]`).value = value ?? "");
    const leaveOut = (field) => row.querySelector(`[data-field=${field}]`).closest("label").remove();
    const name = hit.what === "thing" ? this.thingRow(hit, set, leaveOut) : this.pathRow(hit, set, leaveOut);
    row.setAttribute("aria-label", name);
    row.querySelector("[data-field=name]").textContent = name;
    row.querySelector("[data-field=remove]").setAttribute("aria-label", this.host.words.say("take_out", { what: name }));
    return row;
  }

  thingRow({ id }, set, leaveOut) {
    const thing = model.findThing(this.host.now, id);
    set("x", thing.x);
    set("y", thing.y);
    if (model.isPlayer(thing)) set("label", thing.label);
    else leaveOut("label");
    return `${capitalised(this.host.words.name(thing))} (${id})`;
  }

  pathRow({ at }, set, leaveOut) {
    const frame = this.host.now;
    const path = frame.paths[at];
    set("points", model.pointsInText(path.points));
    set("order", path.order);
    set("label", path.label);
    if (path.kind === "kick") set("hang", path.hang);
    else leaveOut("hang");
    return this.host.words.pathName(frame, path);
  }

  changed(event) {
    const { field, hit } = spotOf(event.target);
    if (hit) this.host.typed(hit, field, event.target.value.trim(), event.target);
  }

  clicked(event) {
    const { field, hit } = spotOf(event.target);
    if (hit && field === "name") this.host.choose(hit);
    if (hit && field === "remove") this.host.removed(hit);
  }
}

function spotOf(element) {
  const key = element.closest("[data-key]")?.dataset.key;
  if (!key) return {};
  const [what, one] = key.split(":");
  return { key, field: element.dataset.field, hit: what === "thing" ? { what, id: one } : { what, at: Number(one) } };
}

const capitalised = (text) => text.charAt(0).toUpperCase() + text.slice(1);
