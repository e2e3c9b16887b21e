// The page of the board: people are moved on the drawing by finger, mouse or keys, which fills in the form below;
// verdicts, map and swing come from the server, which judges what the form says.

import { Grass, keyOf } from "../diagram/grass.js";
import * as model from "../diagram/model.js";
import { Reader } from "../diagram/reader.js";

const FIELDS = { d: ["x", "depth"], a: ["x", "beyond"], c: ["x", "beyond"], k: ["x", "depth"] };
const SHOWN = ["view", "kind"]; // change the drawing, not the scene
const MOST_TOLD = 3;

class Board {
  constructor(root, data) {
    this.root = root;
    this.inkbox = data.inkbox;
    this.address = data.verdicts;
    this.form = document.getElementById("scene");
    this.words = new BoardWords(data.words, this);
    Object.assign(this, { frame: 0, chosen: null, tool: "choose", grid: 0.5, mark: null, playing: false, told: data.said, changes: 0 });
    this.grass = new Grass(root.querySelector("svg[data-grass]"), this);
    this.listen();
    root.querySelector("[data-stage-of-board]").remove();
    this.grass.svg.removeAttribute("hidden");
    this.take(data);
    this.tell(this.words.say("help"));
    this.root.dataset.ready = "";
  }

  part(name) {
    return document.querySelector(`[data-part=${name}]`);
  }

  get now() {
    return this.diagram.frames[0];
  }

  tell(said) {
    this.part("told").textContent = said;
  }

  listen() {
    this.root.addEventListener("change", ({ target }) => (SHOWN.includes(target.name) ? this.ask() : this.changed()));
    document.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (button?.name === "advise") return event.preventDefault(), this.askAdvice();
      if (button?.dataset.places) return event.preventDefault(), this.takePlaces(JSON.parse(button.dataset.places));
    });
  }

  // --- What the form says, and where it says it

  field(name) {
    return this.form.elements.namedItem(name);
  }

  write(name, value) {
    const field = this.field(name);
    if (field) field.value = value;
  }

  get line() {
    return Number(this.field("line").value);
  }

  // Rows that are left empty are no attacker, kick or runner; the others count from 0.
  rowOf(letter, n) {
    const key = letter === "a" ? "x" : "name";
    const filled = [];
    for (let row = 0; this.field(`${letter}${row}-x`); row++) if (this.field(`${letter}${row}-${key}`).value.trim()) filled.push(row);
    return filled[n];
  }

  prefix(id) {
    return id[0] === "d" ? `m${id.slice(1)}` : `${id[0]}${this.rowOf(id[0], Number(id.slice(1)))}`;
  }

  // Metres from the left touch line, and behind the line.
  spotOf([x, y]) {
    const { pitch } = this.diagram;
    return [model.tenth(x + pitch.x), model.tenth(this.line - y - pitch.y)];
  }

  writeThing(thing) {
    const [x, depth] = this.spotOf([thing.x, thing.y]);
    if (thing.id === "ball" || thing.id === "ruck") return this.write("ball_x", Math.min(Math.max(x, 0), 70));
    const [across, deep] = FIELDS[thing.id[0]];
    this.write(`${this.prefix(thing.id)}-${across}`, x);
    this.write(`${this.prefix(thing.id)}-${deep}`, deep === "beyond" ? -depth : depth);
  }

  // Where somebody runs to: of the back field a place, of a runner where he crosses the goal line.
  writeEnd(path) {
    const [x, depth] = this.spotOf(path.points.at(-1));
    this.write(`${this.prefix(path.from)}-to_x`, x);
    this.write(`${this.prefix(path.from)}-to_depth`, depth);
  }

  writeHit(diagram, hit) {
    const frame = diagram.frames[0];
    if (hit.what === "thing") this.writeThing(model.findThing(frame, hit.id));
    else this.writeEnd(frame.paths[hit.at]);
  }

  // --- What the server says

  async send(more = {}) {
    const body = new FormData(this.form);
    for (const [name, value] of Object.entries(more)) body.set(name, value);
    const answer = await fetch(this.address, { method: "POST", body });
    if (!answer.ok && answer.status !== 422) throw new Error(answer.status);
    return [answer.ok, await answer.json()];
  }

  // The scene is another one: advice for the one before is no advice for it.
  changed(hit) {
    this.changes += 1;
    this.part("advice").innerHTML = "";
    return this.ask(hit);
  }

  // While somebody is held the swing is not asked for: it is shown when he is let go.
  // One question at a time; what changed meanwhile is asked next.
  async ask(moved = this.moved_ ?? null) {
    this.moved_ = moved;
    if (this.asking) return void (this.again = true);
    this.asking = true;
    try {
      do {
        this.again = false;
        const [ok, answer] = await this.send(this.dragging ? { held: "1" } : {});
        if (!ok) this.refused(answer);
        else if (!this.again || this.dragging) this.take(answer);
      } while (this.again);
    } catch {
      this.tell(this.words.say("no_answer"));
    }
    this.asking = false;
    this.root.dataset.answered = Number(this.root.dataset.answered ?? 0) + 1;
  }

  refused({ html }) {
    this.part("faults").innerHTML = html;
    this.tell(this.words.say("not_scene"));
  }

  take(answer) {
    this.part("faults").innerHTML = "";
    if (answer.html) this.showVerdicts(answer);
    if (this.dragging) {
      if (sameWindow(this.diagram, answer.diagram)) this.under = answer.under;
      return;
    }
    this.diagram = answer.diagram;
    this.under = answer.under;
    if (this.chosen && !this.found(this.chosen)) this.chosen = null;
    this.grass.render();
    this.showSwing(answer);
    if (this.moved_) this.tellChanged(answer.said);
    this.told = answer.said;
  }

  showVerdicts({ html }) {
    const part = this.part("verdicts");
    const open = [...part.querySelectorAll("details")].map((details) => details.open);
    part.innerHTML = html;
    for (const [n, details] of [...part.querySelectorAll("details")].entries()) details.open = open[n] ?? false;
  }

  showSwing({ swing, swing_html }) {
    if (swing_html !== undefined) this.part("swing").innerHTML = swing_html;
    const player = document.querySelector("[data-player-of-swing]");
    if (!player || !swing) return;
    new Reader(player, { diagram: swing, inkbox: this.inkbox, words: this.words.strings }, document.querySelector("[data-frames-of-swing]"));
  }

  tellChanged(said) {
    const hit = this.moved_;
    this.moved_ = null;
    const changed = Object.keys(said).filter((rule) => said[rule][0] !== this.told[rule]?.[0]);
    const words = changed.slice(0, MOST_TOLD).map((rule) => said[rule][1]);
    const more = changed.length > MOST_TOLD ? [changed.slice(MOST_TOLD).join(", ")] : [];
    const where = this.toldOf(hit);
    this.tell([...(where ? [where] : []), ...(changed.length ? [...words, ...more] : [this.words.say("same")])].join(". "));
  }

  // What was moved may be gone by the time the answer is here: its row was emptied.
  found(hit) {
    return hit.what === "thing" ? model.findThing(this.now, hit.id) : this.now.paths[hit.at];
  }

  toldOf(hit) {
    const found = this.found(hit);
    if (!found) return "";
    return hit.what === "thing" ? this.words.thing(found) : this.words.path(this.now, found);
  }

  async askAdvice() {
    const { changes } = this;
    try {
      const [ok, answer] = await this.send({ advise: "1" });
      if (!ok) this.refused(answer);
      else if (changes === this.changes) this.showAdvice(answer);
    } catch {
      this.tell(this.words.say("no_answer"));
    }
  }

  showAdvice({ html }) {
    this.part("advice").innerHTML = html;
    this.part("advice").querySelector("h3")?.setAttribute("tabindex", "-1");
    this.part("advice").querySelector("h3")?.focus();
  }

  takePlaces(places) {
    for (const [number, x, depth] of places) {
      this.write(`m${number}-x`, x);
      this.write(`m${number}-depth`, depth);
    }
    this.changed({ what: "places" });
  }

  // --- What pointer and keys ask for (the verbs that the surface knows)

  isChosen(hit) {
    const { chosen } = this;
    return Boolean(chosen) && chosen.what === hit.what && chosen.id === hit.id && chosen.at === hit.at;
  }

  previewed(diagram, hit) {
    this.dragging = true;
    if (hit.what === "bend") return;
    this.writeHit(diagram, hit);
    this.changed(hit);
  }

  dropped() {
    this.dragging = false;
    this.ask();
  }

  moved(diagram, hit) {
    this.dragging = false;
    if (hit.what !== "bend") {
      this.diagram = diagram;
      this.chosen = hit;
      this.writeHit(diagram, hit);
    }
    this.grass.render();
    if (hit.what !== "bend") this.grass.focus(keyOf(hit));
    this.changed(hit);
  }

  nudged(hit, [dx, dy]) {
    const path = this.now.paths[hit.at];
    const thing = hit.what === "thing" && model.findThing(this.now, hit.id);
    if (!thing && !path) return;
    const from = thing ? [thing.x, thing.y] : path.points.at(-1);
    const to = model.snapped([from[0] + dx, from[1] + dy], this.diagram.area, 0);
    if (model.samePlace(from, to)) return this.tell(this.words.say("at_the_edge"));
    this.moved(thing ? model.moveThing(this.diagram, 0, hit.id, to) : model.movePoint(this.diagram, 0, hit.at, path.points.length - 1, to), hit);
  }

  tapped(hit) {
    this.chosen = hit?.what === "bend" ? { what: "path", at: hit.at } : hit;
    this.grass.render();
    if (!this.chosen) return;
    this.grass.focus(keyOf(this.chosen));
    this.tell(this.toldOf(this.chosen));
  }

  pressed(hit) {
    this.tapped(this.isChosen(hit) ? null : hit);
  }

  escaped() {
    this.tapped(null);
  }

  // A board has nobody to take out, no bends and no ways to begin: its rows are in the form.
  removed() {}
  bent() {}
  startFrom() {}
}

class BoardWords {
  constructor(strings, board) {
    this.strings = strings;
    this.board = board;
  }

  say(key, values = {}) {
    return this.strings[key].replace(/\{(\w+)\}/g, (_whole, name) => values[name]);
  }

  frame(diagram, index) {
    return this.say("frame_of", { n: index + 1, of: diagram.frames.length, note: diagram.frames[index].note });
  }

  name({ id }) {
    const n = Number(id.slice(1));
    if (id[0] === "d") return this.say("defender", { n });
    if (id[0] === "k") return this.say("kick", { name: this.board.field(`${this.board.prefix(id)}-name`).value });
    return this.say(id[0] === "c" ? "runner" : "attacker", { n: n + 1 });
  }

  at(who, place) {
    const [x, depth] = this.board.spotOf(place);
    return this.say(depth < 0 ? "man_up" : "man", { who, x, depth: Math.abs(depth) });
  }

  thing(thing) {
    if (thing.id === "ball" || thing.id === "ruck") return this.say("ball", { x: this.board.spotOf([thing.x, thing.y])[0] });
    return this.at(this.name(thing), [thing.x, thing.y]);
  }

  path(frame, path) {
    return this.at(this.say("goes", { who: this.name({ id: path.from }) }), path.points.at(-1));
  }

  point(frame, path) {
    return this.path(frame, path);
  }
}

const sameWindow = (one, other) => JSON.stringify([one.area, one.pitch]) === JSON.stringify([other.area, other.pitch]);

const root = document.querySelector("[data-board]");
const data = document.getElementById("board-data");
if (root && data) new Board(root, JSON.parse(data.textContent));
