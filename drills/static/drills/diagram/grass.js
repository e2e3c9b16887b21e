// The drawing that is worked on: shows a frame, and turns pointer and keys into edits.
// `host` is the editor, or the board: its state is read here and changed only through its verbs. `host.under`, if there
// is one, is SVG that lies below the drawing; `host.previewed` hears of a move before it ends.

import { Drawing } from "./draw.js";
import * as model from "./model.js";
import { distance, pathData } from "./strokes.js";

const FINGER = 22; // CSS pixels around a thing that count as on it: 44 across
const STILL = 6; // CSS pixels that a tap may wander
const STEP = 1;
const FINE_STEP = 0.1;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const WAY_KEYS = { r: "run", c: "carry", p: "pass", k: "kick", t: "tackle", l: "line" };

export class Grass {
  constructor(svg, host) {
    this.svg = svg;
    this.host = host;
    this.gesture = null;
    svg.addEventListener("pointerdown", (event) => this.down(event));
    svg.addEventListener("pointermove", (event) => this.move(event));
    svg.addEventListener("pointerup", (event) => this.up(event));
    svg.addEventListener("pointercancel", () => this.drop());
    // A finger on something moves it, one on empty grass scrolls the page. `touch-action` does not hold inside a drawing.
    svg.addEventListener("touchstart", (event) => this.holds() && event.preventDefault(), { passive: false });
    svg.addEventListener("keydown", (event) => this.key(event));
  }

  // --- Showing

  render(diagram = this.host.diagram) {
    const hadFocus = this.svg.contains(document.activeElement) && document.activeElement.dataset?.key;
    this.drawing = new Drawing(this.host.inkbox, diagram);
    const { width, height } = this.drawing;
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.dataset.tool = this.host.tool.split(":")[0];
    this.svg.innerHTML = `<g aria-hidden="true">${this.host.under ?? ""}${this.grid()}${this.drawing.frame(this.host.frame)}</g>${this.handles(diagram)}`;
    if (hadFocus) this.focus(hadFocus);
  }

  // A moment of playing: only the picture, nothing to take hold of.
  picture(index, places) {
    this.svg.innerHTML = `<g aria-hidden="true">${this.drawing.frame(index, { places })}</g>`;
  }

  focus(key) {
    const found = this.svg.querySelector(`[data-key="${key}"]`);
    found?.focus({ preventScroll: true });
    return Boolean(found);
  }

  // A light net under the drawing, as fine as can still be told apart.
  grid() {
    const { scale } = this.drawing;
    const { width, length } = this.host.diagram.area;
    const step = [1, 5, 10].find((each) => each * scale >= 14) ?? 10;
    const count = (most) => Array.from({ length: Math.floor(most / step) + 1 }, (_, place) => place * step);
    const lines = [
      ...count(width).map((x) => [[x, 0], [x, length]]),
      ...count(length).map((y) => [[0, y], [width, y]]),
    ];
    return `<path class="net" d="${lines.map((line) => pathData(line.map((place) => this.drawing.at(place)))).join("")}"/>`;
  }

  handles(diagram) {
    const frame = diagram.frames[this.host.frame];
    const paths = frame.paths.map((path, at) => this.pathHandles(frame, path, at));
    const things = frame.objects.map((thing) => this.thingHandle(frame, thing));
    return paths.join("") + things.join("") + this.markHandle(frame);
  }

  handle(key, label, chosen, drawn) {
    const pressed = chosen === null ? "" : ` aria-pressed="${chosen}"`;
    return `<g class="handle" data-key="${key}" tabindex="0" role="button"${pressed} aria-label="${quoted(label)}">${drawn}</g>`;
  }

  thingHandle(frame, thing) {
    const [x, y] = this.drawing.spot(frame, thing);
    const chosen = this.host.isChosen({ what: "thing", id: thing.id });
    const ring = `<circle class="ring" cx="${x}" cy="${y}" r="${Math.max(this.drawing.reach(thing), 16) + 5}"/>`;
    return this.handle(`thing:${thing.id}`, this.host.words.thing(thing), chosen, this.target(x, y) + ring);
  }

  target(x, y) {
    return `<circle class="target" cx="${x}" cy="${y}" r="${FINGER * this.unitsPerPixel()}"/>`;
  }

  pathHandles(frame, path, at) {
    const route = model.routeOf(frame, path).map((place) => this.drawing.at(place));
    const chosen = this.host.isChosen({ what: "path", at }) || this.host.chosen?.at === at;
    const body = `<path class="target" d="${pathData(route)}" stroke-width="${24 * this.unitsPerPixel()}"/><path class="ring" d="${pathData(route)}"/>`;
    const whole = this.handle(`path:${at}`, this.host.words.path(frame, path), chosen, body);
    if (!chosen) return whole;
    const points = path.points.map((place, point) => {
      const [x, y] = this.drawing.at(place);
      const label = this.host.words.point(frame, path, point);
      const dot = `<circle class="dot" cx="${x}" cy="${y}" r="8"/><circle class="ring" cx="${x}" cy="${y}" r="13"/>`;
      return this.handle(`point:${at}:${point}`, label, this.host.isChosen({ what: "point", at, point }), this.target(x, y) + dot);
    });
    const bends = this.bendPlaces(frame, path).map(({ at: [x, y] }) => `<circle class="bend" cx="${x}" cy="${y}" r="6"/>`);
    return whole + bends.join("") + points.join("");
  }

  // The middles of the legs of a path, where a finger may pull a bend out of it.
  bendPlaces(frame, path) {
    const route = model.routeOf(frame, path).map((place) => this.drawing.at(place));
    const own = path.from === null ? 0 : 1;
    return route.slice(1).map((end, leg) => ({
      point: leg + 1 - own,
      at: [(route[leg][0] + end[0]) / 2, (route[leg][1] + end[1]) / 2],
      long: distance(route[leg], end) > 4 * FINGER * this.unitsPerPixel(),
    })).filter((bend) => bend.long);
  }

  markHandle(frame) {
    const { mark } = this.host;
    if (!mark) return "";
    const [x, y] = this.drawing.at(mark.place);
    const from = mark.path && model.routeOf(frame, mark.path);
    const line = from ? `<path class="band" d="${pathData([...from, mark.place].map((place) => this.drawing.at(place)))}"/>` : "";
    const cross = `<path class="cross" d="M${x - 14},${y}L${x + 14},${y}M${x},${y - 14}L${x},${y + 14}"/><circle class="ring" cx="${x}" cy="${y}" r="16"/>`;
    return this.handle("mark", this.host.words.say("mark", { place: this.host.words.place(mark.place) }), null, line + cross);
  }

  // The drawing may be smaller than its element, so the browser is asked; 1 while nothing is shown.
  unitsPerPixel() {
    return 1 / (this.svg.getScreenCTM()?.a || 1);
  }

  // --- Pointers

  spotOf(event) {
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [x, y];
  }

  // What lies under a finger: points of the chosen path first, then things, then paths.
  under(spot) {
    const reach = FINGER * this.unitsPerPixel();
    const frame = this.host.now;
    const near = (list) => list.filter((each) => each.far <= reach).sort((one, other) => one.far - other.far)[0];
    const at = this.host.tool === "choose" ? this.host.chosen?.at : undefined;
    const path = frame.paths[at];
    const points = path ? path.points.map((place, point) => ({ what: "point", at, point, far: distance(this.drawing.at(place), spot) })) : [];
    const bends = path ? this.bendPlaces(frame, path).map((bend) => ({ what: "bend", at, point: bend.point, far: distance(bend.at, spot) })) : [];
    const things = frame.objects.map((thing) => ({ what: "thing", id: thing.id, far: distance(this.drawing.spot(frame, thing), spot) }));
    const onto = Math.min(reach, 14 * this.unitsPerPixel());
    const paths = frame.paths.map((each, place) => {
      const far = offRoute(model.routeOf(frame, each).map((point) => this.drawing.at(point)), spot);
      return { what: "path", at: place, far: far <= onto ? far : Infinity };
    });
    return near([...points, ...bends]) ?? near(things) ?? near(paths) ?? null;
  }

  placeOf(spot) {
    return model.snapped(this.drawing.metres(spot), this.host.diagram.area, this.host.grid);
  }

  // Where a path leads: to the thing under the finger if there is one, so that a pass arrives.
  targetOf(spot, starter) {
    const hit = this.under(spot);
    const thing = hit?.what === "thing" && hit.id !== starter ? model.findThing(this.host.now, hit.id) : null;
    const close = thing && hit.far <= Math.max(this.drawing.reach(thing), 14 * this.unitsPerPixel());
    return close ? [thing.x, thing.y] : this.placeOf(spot);
  }

  down(event) {
    if (event.button !== 0 || this.host.playing || this.gesture) return;
    const spot = this.spotOf(event);
    const hit = this.under(spot);
    const [mode, kind] = this.host.tool.split(":");
    this.gesture = { spot, moved: false, ...(mode === "draw" ? this.beginDrawing(kind, hit, spot) : this.beginMoving(hit, spot)) };
    if (mode !== "choose" || hit) {
      event.preventDefault();
      this.svg.setPointerCapture(event.pointerId);
    }
  }

  holds() {
    return Boolean(this.gesture) && this.gesture.kind !== "tap";
  }

  beginMoving(hit, spot) {
    if (!hit) return { kind: "tap" };
    if (hit.what === "thing") {
      const thing = model.findThing(this.host.now, hit.id);
      return { kind: "thing", hit, off: minus(this.drawing.at([thing.x, thing.y]), spot) };
    }
    return { kind: hit.what, hit, off: [0, 0] };
  }

  beginDrawing(kind, hit, spot) {
    const { mark } = this.host;
    const starter = hit?.what === "thing" && this.host.mayStart(kind, hit.id) ? hit.id : null;
    if (mark?.path && (mark.at === null || !starter)) return { kind: "grow", path: mark.path };
    if (kind === "line") return { kind: "draw", path: { kind, from: null, points: [this.placeOf(spot)] } };
    if (starter) return { kind: "draw", path: { kind, from: starter, points: [] } };
    return { kind: "nothing", hit };
  }

  move(event) {
    const { gesture } = this;
    if (!gesture) return;
    const spot = this.spotOf(event);
    gesture.moved ||= distance(spot, gesture.spot) > STILL * this.unitsPerPixel();
    gesture.now = spot;
    if (!gesture.moved) return;
    gesture.preview = this.previewed(gesture, spot);
    if (!gesture.preview) return;
    this.render(gesture.preview);
    this.host.previewed?.(gesture.preview, gesture.hit);
  }

  previewed(gesture, spot) {
    const { diagram, frame } = this.host;
    const to = this.placeOf(plus(spot, gesture.off ?? [0, 0]));
    const { hit } = gesture;
    if (gesture.kind === "thing") return model.moveThing(diagram, frame, hit.id, to);
    if (gesture.kind === "point") return model.movePoint(diagram, frame, hit.at, hit.point, this.targetOf(spot, this.host.now.paths[hit.at].from));
    if (gesture.kind === "bend") return model.addPoint(diagram, frame, hit.at, hit.point, to);
    if (gesture.kind === "draw") return model.addPath(diagram, frame, { ...gesture.path, points: [...gesture.path.points, this.targetOf(spot, gesture.path.from)] });
    return null;
  }

  up(event) {
    const { gesture } = this;
    this.gesture = null;
    if (!gesture) return;
    const spot = this.spotOf(event);
    if (gesture.kind === "draw") this.host.drew(gesture.path, gesture.moved ? this.targetOf(spot, gesture.path.from) : null);
    else if (gesture.kind === "grow") this.host.grew(this.targetOf(spot, gesture.path.from));
    else if (gesture.kind === "nothing") this.host.cannotStart(gesture.hit);
    else if (gesture.moved && gesture.preview) this.host.moved(gesture.preview, gesture.hit);
    else this.host.tapped(gesture.hit ?? null, this.placeOf(spot));
  }

  drop() {
    this.gesture = null;
    this.render();
    this.host.dropped?.();
  }

  // --- Keys

  key(event) {
    const key = event.target.closest("[data-key]")?.dataset.key;
    if (!key || event.ctrlKey || event.metaKey || event.altKey) return;
    const hit = hitOf(key);
    if (this.keyed(event, hit)) event.preventDefault();
  }

  keyed(event, hit) {
    const arrow = ARROWS[event.key];
    const step = event.shiftKey ? FINE_STEP : STEP;
    if (arrow) return this.host.nudged(hit, arrow.map((part) => part * step)), true;
    if (event.key === "Enter" || event.key === " ") return this.host.pressed(hit), true;
    if (event.key === "Delete" || event.key === "Backspace") return this.host.removed(hit), true;
    if (event.key === "Escape") return this.host.escaped(), true;
    if (event.key === "+" && hit.at !== undefined) return this.host.bent(hit), true;
    const way = WAY_KEYS[event.key.toLowerCase()];
    if (way && hit.what === "thing") return this.host.startFrom(way, hit.id), true;
    return false;
  }
}

export function hitOf(key) {
  const [what, one, other] = key.split(":");
  if (what === "thing") return { what, id: one };
  if (what === "mark") return { what };
  return what === "point" ? { what, at: Number(one), point: Number(other) } : { what, at: Number(one) };
}

export function keyOf(hit) {
  return hit.what === "thing" ? `thing:${hit.id}` : hit.what === "point" ? `point:${hit.at}:${hit.point}` : `path:${hit.at}`;
}

const plus = ([ax, ay], [bx, by]) => [ax + bx, ay + by];
const minus = ([ax, ay], [bx, by]) => [ax - bx, ay - by];
const quoted = (text) => text.replaceAll("&", "&amp;").replaceAll('"', "&quot;").replaceAll("<", "&lt;");

// How far a spot is from the nearest leg of a route.
function offRoute(route, [x, y]) {
  return Math.min(...route.slice(1).map(([bx, by], place) => {
    const [ax, ay] = route[place];
    const whole = (bx - ax) ** 2 + (by - ay) ** 2 || 1;
    const share = Math.min(1, Math.max(0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / whole));
    return distance([ax + share * (bx - ax), ay + share * (by - ay)], [x, y]);
  }));
}
