// Plays a diagram: frame to frame, each thing along its paths in their order. Only steps where people want no motion.

import { findThing, steps } from "./model.js";

const STEP_MS = 900;
const REST_MS = 700;
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const pause = (ms) => new Promise((done) => setTimeout(done, ms));
const nextPicture = () => new Promise((done) => requestAnimationFrame(done));

export class Player {
  // `show(index, places)` draws a frame, `places` being a map of ids to {x, y} of what moves, or null.
  constructor(show) {
    this.show = show;
    this.run = 0;
  }

  get playing() {
    return this.run % 2 === 1;
  }

  stop() {
    if (this.playing) this.run += 1;
  }

  // True if it came to the end, false if it was stopped.
  async play(diagram, from = 0) {
    this.run += 1;
    const mine = this.run;
    const stopped = () => this.run !== mine;
    for (let index = from; index < diagram.frames.length; index++) {
      this.show(index, null);
      await pause(calm.matches ? 2 * STEP_MS : REST_MS);
      if (stopped()) return false;
      if (!calm.matches && !(await this.move(diagram, index, stopped))) return false;
    }
    this.run += 1;
    return true;
  }

  async move(diagram, index, stopped) {
    const frame = diagram.frames[index];
    const places = new Map();
    for (const step of [...steps(frame), drift(frame, diagram.frames[index + 1], places)]) {
      const moves = typeof step === "function" ? step() : step;
      if (!moves.length) continue;
      const began = performance.now();
      for (let share = 0; share < 1; ) {
        share = Math.min(1, ((await nextPicture()) - began) / STEP_MS);
        if (stopped()) return false;
        for (const { id, route } of moves) places.set(id, on(route, Math.max(0, share)));
        this.show(index, new Map(places));
      }
    }
    await pause(REST_MS);
    return !stopped();
  }
}

// What stands elsewhere in the next frame although no path leads there goes straight.
function drift(frame, next, places) {
  return () => (next?.objects ?? []).flatMap((thing) => {
    const before = findThing(frame, thing.id);
    const now = before && (places.get(thing.id) ?? before);
    return now && (now.x !== thing.x || now.y !== thing.y) ? [{ id: thing.id, route: [[now.x, now.y], [thing.x, thing.y]] }] : [];
  });
}

// The place after a share of a route.
function on(route, share) {
  const lengths = route.slice(1).map(([x, y], place) => Math.hypot(x - route[place][0], y - route[place][1]));
  let far = share * lengths.reduce((sum, each) => sum + each, 0);
  for (const [place, length] of lengths.entries()) {
    if (far <= length && length) {
      const [[ax, ay], [bx, by]] = [route[place], route[place + 1]];
      return { x: ax + ((bx - ax) * far) / length, y: ay + ((by - ay) * far) / length };
    }
    far -= length;
  }
  return { x: route.at(-1)[0], y: route.at(-1)[1] };
}
