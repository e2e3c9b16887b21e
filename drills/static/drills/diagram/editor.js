// The page on which a drill is drawn: what is shown, chosen and kept, and every verb that changes the drawing.

import { Bars } from "./bars.js";
import { typed } from "./fields.js";
import { Grass, keyOf } from "./grass.js";
import { History } from "./history.js";
import { List } from "./list.js";
import * as model from "./model.js";
import { Player } from "./player.js";
import { Session } from "./session.js";
import { Words, capital } from "./words.js";

class Editor {
  constructor(root, data) {
    this.root = root;
    this.data = data;
    this.inkbox = data.inkbox;
    this.words = new Words(data.words, data.inkbox.names);
    this.history = new History(data.diagram ?? model.blank(...data.grid));
    this.session = new Session(this, data);
    Object.assign(this, { frame: 0, chosen: null, tool: "choose", grid: 0.5, mark: null });
    this.grass = new Grass(root.querySelector("svg[data-grass]"), this);
    this.list = new List(root, this);
    this.bars = new Bars(this);
    this.player = new Player((index, places) => this.showMoment(index, places));
    this.listen();
    this.session.bringBack();
    root.hidden = false;
    this.part("list").open = matchMedia("(min-width: 60rem)").matches;
    this.render();
  }

  get diagram() {
    return this.history.now;
  }

  get now() {
    return this.diagram.frames[this.frame];
  }

  get playing() {
    return this.player.playing;
  }

  part(name) {
    return this.root.querySelector(`[data-part=${name}]`);
  }

  // --- Showing and telling

  render() {
    this.frame = Math.min(this.frame, this.diagram.frames.length - 1);
    if (!this.exists(this.chosen)) this.chosen = null;
    if (this.mark?.path && !this.stillGrows(this.mark)) this.mark = null;
    this.grass.render();
    this.list.render();
    this.bars.render();
  }

  exists(hit) {
    if (!hit) return false;
    if (hit.what === "thing") return Boolean(model.findThing(this.now, hit.id));
    const path = this.now.paths[hit.at];
    return Boolean(path) && (hit.what === "path" || hit.point < path.points.length);
  }

  stillGrows({ path, at }) {
    const starts = path.from === null || Boolean(model.findThing(this.now, path.from));
    return starts && (at === null || this.now.paths[at]?.kind === path.kind);
  }

  tell(said) {
    if (said) this.part("told").textContent = said;
  }

  tellOf(key, values) {
    this.tell(this.words.say(key, values));
  }

  // --- The one way to change the drawing

  do(diagram, said) {
    this.history.do(diagram);
    this.session.keep();
    this.render();
    this.tell(said);
  }

  undo() {
    this.tellOf(this.history.undo() ? "undone" : "nothing_to_undo");
    this.afterStep();
  }

  redo() {
    this.tellOf(this.history.redo() ? "redone" : "nothing_to_redo");
    this.afterStep();
  }

  afterStep() {
    this.mark = null;
    this.session.keep();
    this.render();
  }

  // --- Choosing

  isChosen(hit) {
    const { chosen } = this;
    return Boolean(chosen) && chosen.what === hit.what && chosen.id === hit.id && chosen.at === hit.at && chosen.point === hit.point;
  }

  choose(hit, said = this.told(hit)) {
    this.chosen = hit;
    this.render();
    if (hit) this.grass.focus(keyOf(hit));
    this.tell(said);
  }

  told(hit) {
    if (!hit) return "";
    if (hit.what === "thing") return this.words.thing(model.findThing(this.now, hit.id));
    const path = this.now.paths[hit.at];
    return hit.what === "path" ? this.words.path(this.now, path) : this.words.point(this.now, path, hit.point);
  }

  pickTool(tool, byKey = false) {
    this.tool = tool;
    this.mark = null;
    const [mode, kind] = tool.split(":");
    if (mode === "place" && byKey) this.mark = { place: this.middle(), path: null, at: null };
    if (mode === "draw" && byKey) return this.drawByKeys(kind);
    this.render();
    if (byKey) this.grass.focus("mark");
    this.tellOf(mode === "choose" ? "choose_help" : mode === "place" ? (byKey ? "place_keys" : "place_help") : this.drawHelp(kind), { kind: this.kindName(mode, kind) });
  }

  drawHelp(kind) {
    return kind === "line" ? "line_help" : "draw_help";
  }

  kindName(mode, kind) {
    return mode === "place" ? this.inkbox.names[kind] : mode === "draw" ? this.words.say(`way_${kind}`) : "";
  }

  middle() {
    const { width, length } = this.diagram.area;
    return this.lastPlace ?? model.snapped([width / 2, length / 2], this.diagram.area, 1);
  }

  drawByKeys(kind) {
    const { chosen } = this;
    if (chosen?.what === "thing" && kind !== "line") return this.startFrom(kind, chosen.id);
    if (kind === "line") {
      this.mark = { place: this.middle(), path: { kind, from: null, points: [] }, at: null };
      this.render();
      this.grass.focus("mark");
      return this.tellOf("line_keys");
    }
    this.render();
    return this.tellOf("draw_needs_start", { kind: this.kindName("draw", kind) });
  }

  // --- Drawing paths

  mayStart(kind, id) {
    const thing = model.findThing(this.now, id);
    return Boolean(thing) && this.inkbox.starts[kind].includes(thing.kind);
  }

  startFrom(kind, id) {
    const thing = model.findThing(this.now, id);
    if (!this.mayStart(kind, id)) return this.tellOf("cannot_start", { kind: this.kindName("draw", kind), thing: this.words.name(thing) });
    this.tool = `draw:${kind}`;
    this.chosen = { what: "thing", id };
    this.mark = { place: [thing.x, thing.y], path: { kind, from: id, points: [] }, at: null };
    this.render();
    this.grass.focus("mark");
    this.tellOf("draw_keys", { kind: this.kindName("draw", kind), thing: this.words.name(thing) });
  }

  cannotStart(hit) {
    const kind = this.kindName("draw", this.tool.split(":")[1]);
    const thing = hit?.what === "thing" && model.findThing(this.now, hit.id);
    this.tell(thing ? this.words.say("cannot_start", { kind, thing: this.words.name(thing) }) : this.words.say("draw_help", { kind }));
    this.render();
  }

  // A finger drew a path, or only named its start (no end yet).
  drew(path, end) {
    const starter = path.from && model.findThing(this.now, path.from);
    const start = starter ? [starter.x, starter.y] : path.points[0];
    this.mark = { place: start, path, at: null };
    if (end && !model.samePlace(start, end)) return this.grew(end);
    this.render();
    this.tellOf("draw_goes_on", { kind: this.kindName("draw", path.kind) });
  }

  // The path that is being drawn goes on to a place.
  grew(place) {
    const { path, at } = this.mark;
    const route = model.routeOf(this.now, path);
    if (route.length && model.samePlace(route.at(-1), place)) return this.endPath();
    const points = [...path.points, place];
    if (points.length > this.inkbox.limits.MOST_POINTS + (path.from === null ? 1 : 0)) return this.tellOf("points_full");
    const next = { ...path, points };
    if (points.length < model.leastPoints(path)) {
      this.mark = { place, path: next, at };
      this.render();
      return this.tellOf("line_goes_on", { place: this.words.place(place) });
    }
    const whole = at === null ? model.addPath(this.diagram, this.frame, next) : model.changePath(this.diagram, this.frame, at, { points });
    const index = at ?? this.now.paths.length;
    this.mark = { place, path: next, at: index };
    this.chosen = { what: "path", at: index };
    this.do(whole, this.words.path(whole.frames[this.frame], whole.frames[this.frame].paths[index]));
  }

  endPath() {
    const { at } = this.mark;
    this.mark = null;
    this.tool = "choose";
    this.render();
    if (at !== null) this.grass.focus(`path:${at}`);
    this.tellOf(at === null ? "path_given_up" : "path_done");
  }

  // --- What pointer and keys ask for

  tapped(hit, place) {
    const [mode, kind] = this.tool.split(":");
    if (mode === "place" && !hit) return this.placed(kind, place);
    if (mode === "place" && kind === "ball" && this.mayHold(hit)) return this.placed(kind, this.placeOfThing(hit.id));
    this.choose(hit?.what === "bend" ? { what: "path", at: hit.at } : hit);
  }

  // A ball goes into the hands of the player who is pressed.
  mayHold(hit) {
    return hit.what === "thing" && this.inkbox.people.includes(model.findThing(this.now, hit.id).kind);
  }

  placed(kind, place) {
    if (this.now.objects.length >= this.inkbox.limits.MOST_OBJECTS) return this.tellOf("objects_full");
    const [next, id] = model.addThing(this.diagram, this.frame, kind, place);
    this.chosen = { what: "thing", id };
    this.lastPlace = place;
    this.do(next, capital(this.words.say("placed", { thing: this.words.thing(model.findThing(next.frames[this.frame], id)) })));
  }

  moved(diagram, hit) {
    const now = hit.what === "bend" ? { what: "point", at: hit.at, point: hit.point } : hit;
    this.chosen = now;
    this.do(diagram);
    this.grass.focus(keyOf(now));
    this.tell(this.told(now));
  }

  nudged(hit, [dx, dy]) {
    if (hit.what === "mark") return this.nudgeMark(dx, dy);
    const path = this.now.paths[hit.at];
    const point = hit.what === "path" ? path.points.length - 1 : hit.point;
    const [x, y] = hit.what === "thing" ? this.placeOfThing(hit.id) : path.points[point];
    const to = this.within([x + dx, y + dy]);
    if (model.samePlace([x, y], to)) return this.tellOf("at_the_edge");
    const { diagram, frame } = this;
    this.do(hit.what === "thing" ? model.moveThing(diagram, frame, hit.id, to) : model.movePoint(diagram, frame, hit.at, point, to));
    this.tell(this.told(hit));
  }

  placeOfThing(id) {
    const { x, y } = model.findThing(this.now, id);
    return [x, y];
  }

  within(place) {
    return model.snapped(place, this.diagram.area, 0);
  }

  nudgeMark(dx, dy) {
    const [x, y] = this.mark.place;
    this.mark = { ...this.mark, place: this.within([x + dx, y + dy]) };
    this.grass.render();
    this.tell(this.words.say("mark", { place: this.words.place(this.mark.place) }));
  }

  pressed(hit) {
    if (hit.what !== "mark") return this.choose(this.isChosen(hit) ? null : hit, this.isChosen(hit) ? this.words.say("let_go") : this.told(hit));
    if (this.mark.path) this.grew(this.mark.place);
    else this.placed(this.tool.split(":")[1], this.mark.place);
    this.grass.focus("mark");
  }

  escaped() {
    if (this.mark?.path) return this.endPath();
    this.mark = null;
    this.pickTool("choose");
    this.root.querySelector("[data-tool=choose]").focus();
  }

  removed(hit) {
    const { diagram, frame } = this;
    if (hit.what === "mark") return this.escaped();
    const what = hit.what === "thing" ? this.words.name(model.findThing(this.now, hit.id)) : this.told(hit);
    const path = this.now.paths[hit.at];
    if (hit.what === "thing") this.do(model.removeThing(diagram, frame, hit.id));
    else if (hit.what === "path" || path.points.length <= model.leastPoints(path)) this.do(model.removePath(diagram, frame, hit.at));
    else this.do(model.removePoint(diagram, frame, hit.at, hit.point));
    this.tellOf("removed", { what: capital(what) });
    const next = this.grass.svg.querySelector("[data-key]");
    if (next) next.focus({ preventScroll: true });
    else this.root.querySelector("[data-tool=choose]").focus({ preventScroll: true });
  }

  // One more bend in a path: in the middle of the leg that leads to the point, or of the last one.
  bent({ at, point }) {
    const path = this.now.paths[at];
    if (path.points.length > this.inkbox.limits.MOST_POINTS - (path.from === null ? 0 : 1)) return this.tellOf("points_full");
    const route = model.routeOf(this.now, path);
    const own = path.from === null ? 0 : 1;
    const leg = Math.max(1, (point ?? path.points.length - 1) + own);
    const [[ax, ay], [bx, by]] = [route[leg - 1], route[leg]];
    const hit = { what: "point", at, point: leg - own };
    this.chosen = hit;
    this.do(model.addPoint(this.diagram, this.frame, at, hit.point, [(ax + bx) / 2, (ay + by) / 2]));
    this.grass.focus(keyOf(hit));
    this.tell(this.told(hit));
  }

  // --- Fields

  typed(hit, field, value, input) {
    const next = typed(this.diagram, this.frame, hit, field, value, this.inkbox.limits);
    if (typeof next === "string") {
      this.tellOf(next);
      input.setAttribute("aria-invalid", "true");
      return;
    }
    this.do(next);
    this.tell(this.told(hit));
  }

  // --- Frames and the whole

  goTo(index) {
    this.frame = index;
    this.mark = null;
    this.chosen = null;
    this.render();
    this.tell(this.words.frame(this.diagram, index));
  }

  addFrame() {
    const next = model.addFrame(this.diagram);
    this.history.do(next);
    this.session.keep();
    this.goTo(next.frames.length - 1);
    this.tellOf("frame_added", { n: this.frame + 1 });
  }

  removeFrame() {
    this.do(model.removeFrame(this.diagram, this.frame), this.words.say("frame_removed", { n: this.frame + 1 }));
  }

  moveFrame(by) {
    const next = model.moveFrame(this.diagram, this.frame, by);
    this.frame += by;
    this.chosen = null;
    this.do(next, this.words.say("frame_moved", { n: this.frame + 1 }));
  }

  mirror() {
    this.do(model.mirrored(this.diagram, this.inkbox.pitch.width), this.words.say("mirrored"));
  }

  resize() {
    const half = (name) => Math.round(Number(this.part(name).value) * 2) / 2;
    const [width, length] = [half("width"), half("length")];
    const { WIDEST, LONGEST } = this.inkbox.limits;
    if (!(width >= 2 && width <= WIDEST && length >= 2 && length <= LONGEST)) return this.tellOf("bad_area", { width: WIDEST, length: LONGEST });
    this.do(model.resized(this.diagram, { width, length }, this.inkbox.pitch), this.words.say("area_is", { width, length }));
  }

  setPitch() {
    const { pitch } = this.inkbox;
    const number = (name) => Number(this.part(name).value);
    const { width, length } = this.diagram.area;
    const fresh = !this.diagram.pitch;
    const corner = fresh ? { x: (pitch.width - width) / 2, y: 22 } : { x: number("pitch-x"), y: number("pitch-y") };
    const wanted = this.part("on-pitch").checked ? corner : null;
    const next = model.windowed(this.diagram, wanted, pitch);
    if (wanted && !next.pitch) return this.render(), this.tellOf("too_large_for_pitch");
    this.do(next, next.pitch ? this.words.say("pitch_is", next.pitch) : this.words.say("pitch_off"));
  }

  showMoment(index, places) {
    this.frame = index;
    if (places) return this.grass.picture(index, places);
    this.mark = this.chosen = null;
    this.render();
    this.tell(this.words.frame(this.diagram, index));
  }

  async play() {
    if (this.playing) {
      this.player.stop();
    } else {
      const last = this.frame === this.diagram.frames.length - 1;
      await this.player.play(this.diagram, last ? 0 : this.frame);
    }
    this.render();
  }

  // --- Listening

  listen() {
    const verbs = {
      undo: () => this.undo(), redo: () => this.redo(), mirror: () => this.mirror(), save: () => this.session.save(),
      "frame-add": () => this.addFrame(), "frame-remove": () => this.removeFrame(),
      "frame-earlier": () => this.moveFrame(-1), "frame-later": () => this.moveFrame(1),
      previous: () => this.goTo(this.frame - 1), next: () => this.goTo(this.frame + 1), play: () => this.play(),
      remove: () => this.removed(this.chosen), bend: () => this.bent(this.chosen), "let-go": () => this.choose(null),
      left: () => this.nudged(this.chosen, [-1, 0]), right: () => this.nudged(this.chosen, [1, 0]),
      up: () => this.nudged(this.chosen, [0, 1]), down: () => this.nudged(this.chosen, [0, -1]),
    };
    this.root.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (!button || button.getAttribute("aria-disabled") === "true") return;
      if (button.dataset.do !== "play" && this.playing) this.player.stop();
      if (button.dataset.tool) this.pickTool(button.dataset.tool, event.detail === 0);
      else if (button.dataset.frame) this.goTo(Number(button.dataset.frame));
      else verbs[button.dataset.do]?.();
    });
    this.part("note").addEventListener("change", () => this.do(model.withFrame(this.diagram, this.frame, { note: this.part("note").value.trim() })));
    this.part("snap").addEventListener("change", () => (this.grid = Number(this.part("snap").value)));
    for (const name of ["width", "length"]) this.part(name).addEventListener("change", () => this.resize());
    for (const name of ["on-pitch", "pitch-x", "pitch-y"]) this.part(name).addEventListener("change", () => this.setPitch());
    document.addEventListener("keydown", (event) => this.shortcut(event));
    window.addEventListener("resize", () => this.playing || this.grass.render());
  }

  shortcut(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.closest("input, textarea, select, dialog")) return;
    const key = event.key.toLowerCase();
    if (key === "z" || key === "y") {
      event.preventDefault();
      if (key === "y" || event.shiftKey) this.redo();
      else this.undo();
    }
  }
}

const data = JSON.parse(document.getElementById("diagram-data").textContent);
document.querySelector("[data-without-script]").hidden = true;
new Editor(document.querySelector("[data-draw]"), data);
