// Keeping the strokes on this device and sending them; whatever the server answers, nothing on the page is lost.
// `host` is the editor: it shows what is told and holds the drawing.

import { Kept } from "./kept.js";
import { blank } from "./model.js";
import { OUTCOME, send } from "./saving.js";

export class Session {
  constructor(host, data) {
    this.host = host;
    this.data = data;
    this.version = data.version;
    this.saved = host.diagram;
    this.kept = new Kept(data);
    this.failed = false;
    window.addEventListener("online", () => this.failed && this.save());
  }

  get dirty() {
    return this.host.diagram !== this.saved;
  }

  keep() {
    if (!this.dirty) return this.kept.clear();
    if (!this.kept.put(this.host.diagram)) this.notice("keeps_nothing");
  }

  goOnFrom(version) {
    this.version = this.kept.version = version;
  }

  bringBack() {
    const found = this.kept.find();
    if (!found || JSON.stringify(found.diagram) === JSON.stringify(this.saved)) return this.kept.clear();
    this.host.history.do(found.diagram);
    try {
      this.host.grass.render();
    } catch {
      this.host.history.undo();
      return this.kept.clear();
    }
    this.goOnFrom(found.version);
    const at = new Date(found.at).toLocaleString(document.documentElement.lang);
    this.notice("brought_back", { at }, { key: "throw_away", act: () => this.throwAway() });
  }

  throwAway() {
    this.goOnFrom(this.data.version);
    this.host.history.do(this.saved);
    this.host.afterStep();
    this.quiet();
    this.host.tellOf("thrown_away");
  }

  async save(how = {}) {
    const sent = this.host.diagram;
    const button = this.host.root.querySelector("[data-do=save]");
    button.setAttribute("aria-disabled", "true");
    this.host.tellOf("saving");
    const answer = await send(this.data.save, { diagram: sent, version: this.version, ...how });
    button.setAttribute("aria-disabled", "false");
    this.failed = answer.outcome === OUTCOME.NO_ANSWER;
    this[`on_${answer.outcome}`](answer, sent);
  }

  on_saved({ url, version, copy }, sent) {
    this.kept.clear();
    if (copy) return location.assign(url);
    this.goOnFrom(version);
    this.saved = sent;
    this.keep();
    this.quiet();
    this.host.render();
    this.host.tellOf("saved", { n: version });
  }

  on_no_answer() {
    this.notice("no_answer", {}, { key: "try_again", act: () => this.save() });
  }

  on_logged_out() {
    this.notice("logged_out", {}, { key: "try_again", act: () => this.save() });
  }

  on_refused({ faults }) {
    const first = faults.find((fault) => fault.frame !== null);
    if (first && first.frame < this.host.diagram.frames.length) this.host.goTo(first.frame);
    this.notice("refused", {}, null, faults.map((fault) => `${fault.where}: ${fault.why}`));
  }

  on_conflict({ html, version, theirs }) {
    const dialog = this.host.part("conflict");
    dialog.querySelector("[data-part=both]").innerHTML = html;
    dialog.onclick = (event) => {
      const choice = event.target.closest("[data-choice]")?.dataset.choice;
      if (!choice) return;
      event.preventDefault();
      dialog.close();
      if (choice === "theirs") this.takeTheirs(theirs, version);
      if (choice === "mine") this.goOnFrom(version);
      if (choice === "mine") this.save();
      if (choice === "copy") this.save({ copy: true });
    };
    this.host.tellOf("conflict");
    dialog.showModal();
  }

  takeTheirs(theirs, version) {
    const drawn = theirs ?? blank(...this.data.grid);
    this.kept.clear();
    this.goOnFrom(version);
    this.saved = drawn;
    this.host.do(drawn, this.host.words.say("took_theirs"));
  }

  // A message that stays until it is dealt with, with a way on.
  notice(key, values = {}, way = null, lines = []) {
    this.host.part("told").textContent = "";
    const note = this.host.part("notice");
    note.querySelector("p").textContent = this.host.words.say(key, values);
    note.querySelector("ul").replaceChildren(...lines.map((line) => Object.assign(document.createElement("li"), { textContent: line })));
    const button = note.querySelector("button");
    button.hidden = !way;
    button.textContent = way ? this.host.words.say(way.key) : "";
    button.onclick = way?.act ?? null;
    note.hidden = false;
  }

  quiet() {
    this.host.part("notice").hidden = true;
  }
}
