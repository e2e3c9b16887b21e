// What the editor says, in the words that the server put in the page.

import { isPlayer, lengthInMetres, routeOf, findThing } from "./model.js";

export class Words {
  constructor(strings, names) {
    this.strings = strings;
    this.names = names;
  }

  say(key, values = {}) {
    return this.strings[key].replace(/\{(\w+)\}/g, (_whole, name) => values[name]);
  }

  name(thing) {
    const kind = this.names[thing.kind];
    return isPlayer(thing) ? `${kind} ${thing.label}` : kind;
  }

  place([x, y]) {
    return this.say("place", { x, y });
  }

  thing(thing) {
    return capital(this.say("thing_at", { thing: this.name(thing), place: this.place([thing.x, thing.y]) }));
  }

  frame(diagram, index) {
    return this.say("frame_of", { n: index + 1, of: diagram.frames.length, note: diagram.frames[index].note }).trim();
  }

  pathName(frame, path) {
    const starter = path.from && findThing(frame, path.from);
    const kind = this.strings[`way_${path.kind}`];
    return capital(starter ? this.say("path_of", { path: kind, thing: this.name(starter) }) : kind);
  }

  path(frame, path) {
    const values = { path: this.pathName(frame, path), m: lengthInMetres(routeOf(frame, path)), place: this.place(path.points.at(-1)) };
    return this.say("path_to", values) + (path.order === null ? "" : this.say("path_order", { n: path.order }));
  }

  point(frame, path, point) {
    const values = { n: point + 1, of: path.points.length, path: this.pathName(frame, path), place: this.place(path.points[point]) };
    return this.say("point_at", values);
  }
}

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
