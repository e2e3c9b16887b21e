// A frame as SVG, part for part as drills/core/draw.py draws it. Symbols, letters, pens and pitch lines come from the
// server in the page (`inkbox`), so there is one set of them. A test compares both drawings, sign by sign.

import * as s from "./strokes.js";

const INK = 'stroke="currentColor"';
const PAPER_EDGE = 'class="paper-edge" stroke="#fff"';
const PAIR = /(-?[\d.]+),(-?[\d.]+)/g;
const clamp = (value, least, most) => Math.min(Math.max(value, least), most);

export class Drawing {
  // How metres become units for one area, and every part of a frame in those units.
  constructor(inkbox, diagram) {
    const { sizes } = inkbox;
    const { width, length } = diagram.area;
    const rough = Math.min((sizes.WIDE - sizes.ROUGH_EDGES) / width, (sizes.HIGH - sizes.ROUGH_EDGES - sizes.FOOT) / length);
    this.inkbox = inkbox;
    this.diagram = diagram;
    this.half = clamp(sizes.A_PLAYER * rough, sizes.LEAST_HALF, sizes.MOST_HALF);
    const edge = this.half + sizes.EDGE;
    this.left = diagram.pitch ? Math.max(edge, sizes.PITCH_EDGE) : edge;
    this.top = edge;
    this.scale = Math.min((sizes.WIDE - this.left - edge) / width, (sizes.HIGH - 2 * edge - sizes.FOOT) / length);
    const drawn = this.left + width * this.scale + edge;
    const spare = Math.max(0, sizes.NARROWEST - drawn);
    this.left += spare / 2;
    this.width = Number(s.tenth(drawn + spare));
    this.height = Number(s.tenth(2 * edge + length * this.scale + sizes.FOOT));
  }

  at([x, y]) {
    return [this.left + x * this.scale, this.top + (this.diagram.area.length - y) * this.scale];
  }

  metres([x, y]) {
    return [(x - this.left) / this.scale, this.diagram.area.length - (y - this.top) / this.scale];
  }

  held([x, y], halfWidth, halfHeight) {
    return [
      Math.min(Math.max(x, halfWidth + 1), this.width - halfWidth - 1),
      Math.min(Math.max(y, halfHeight + 1), this.height - halfHeight - 1),
    ];
  }

  // Everything between <svg> and </svg>. `wrap(what, key, drawn)` may put a group around a thing or a path; `places`
  // says where things stand while they move, and their paths stay where they are.
  frame(index, { wrap = (_what, _key, drawn) => drawn, places = null } = {}) {
    const frame = this.diagram.frames[index];
    const { layers, sizes } = this.inkbox;
    const shown = places ? { ...frame, objects: frame.objects.map((thing) => ({ ...thing, ...places.get(thing.id) })) } : frame;
    const things = [...shown.objects].sort((one, other) => layers.indexOf(one.kind) - layers.indexOf(other.kind));
    const onTop = (thing) => this.isPerson(thing) || thing.kind === "ball";
    const drawn = (thing) => wrap("thing", thing.id, this.thing(shown, thing));
    const routes = frame.paths.map((path) => this.route(frame, path));
    const crowd = frame.objects.map((thing) => this.at([thing.x, thing.y]));
    const number = this.diagram.frames.length > 1
      ? this.letters(`${index + 1}`, Math.max(10, this.lettersWidth(`${index + 1}`, 20) / 2 + 3), this.height - sizes.FOOT / 2 - 2, 20, sizes.PEN)
      : "";
    return [
      ...this.ground(),
      number,
      ...things.filter((thing) => !onTop(thing)).map(drawn),
      ...frame.paths.map((path, place) => wrap("path", place, this.trail(path.kind, routes[place]))),
      ...things.filter(onTop).map(drawn),
      ...frame.paths.map((path, place) => this.wordsOn(path, routes[place], crowd)),
    ].join("");
  }

  isPerson(thing) {
    return this.inkbox.people.includes(thing.kind);
  }

  ground() {
    const { sizes, dashes, pitch } = this.inkbox;
    const { area, pitch: corner } = this.diagram;
    const [[left, foot], [right, head]] = [this.at([0, 0]), this.at([area.width, area.length])];
    const outline = s.pathData([[left, foot], [left, head], [right, head], [right, foot]]) + "Z";
    const lines = corner ? linesWithin(pitch.lines, corner, area).map((line) => this.pitchLine(line)) : [];
    return [
      this.stroke(outline, sizes.FINE, corner ? dashes.edge : ""),
      ...lines,
      this.scaleBar(),
    ];
  }

  scaleBar() {
    const { sizes } = this.inkbox;
    const metres = Math.max(sizes.BARS[0], ...sizes.BARS.filter((length) => length * this.scale <= 0.4 * this.width));
    const text = `${metres} m`;
    const [long, y, wide] = [metres * this.scale, this.height - sizes.FOOT / 2 - 2, this.lettersWidth(text, 17)];
    const left = (this.width - long - 10 - wide) / 2;
    const ends = [left, left + long].map((x) => s.pathData([[x, y - 5], [x, y + 5]])).join("");
    return this.stroke(s.pathData([[left, y], [left + long, y]]) + ends, sizes.THIN)
      + this.letters(text, left + long + 10 + wide / 2, y, 17, sizes.THIN);
  }

  pitchLine({ start, end, style, mark }) {
    const { sizes, dashes } = this.inkbox;
    const [from, to] = [this.at(start), this.at(end)];
    if (style === "post") {
      return `<circle cx="${s.number(from[0])}" cy="${s.number(from[1])}" r="5" fill="currentColor"/>`;
    }
    const drawn = this.stroke(s.pathData([from, to]), sizes.GRASS, style === "solid" ? "" : dashes.broken);
    if (!mark) return drawn;
    const across = start[1] === end[1];
    const at = across ? [this.left - 17, from[1]] : [from[0], this.top + this.diagram.area.length * this.scale + 16];
    return drawn + this.letters(mark, ...this.held(at, this.lettersWidth(mark, 14) / 2, 7), 14, sizes.THIN);
  }

  // Where the symbol of a thing is drawn: a ball in hand beside the number, nothing beyond the edge.
  spot(frame, thing) {
    let [x, y] = this.at([thing.x, thing.y]);
    const inHand = thing.kind === "ball" && frame.objects.some(
      (other) => this.isPerson(other) && s.distance(this.at([other.x, other.y]), [x, y]) < this.half,
    );
    if (inHand) [x, y] = [x + this.half, y + this.half * 0.6];
    const [wide, high] = this.inkbox.shapes[thing.kind].extent;
    return this.held([x, y], this.half * wide, this.half * high);
  }

  thing(frame, thing) {
    return this.symbol(thing.kind, ...this.spot(frame, thing), this.half, thing.label);
  }

  symbol(kind, x, y, half, label) {
    const shape = this.inkbox.shapes[kind];
    const pen = shape.pen + shape.pen_grows * half;
    const body = `<path d="${placed(shape.data, x, y, half)}" ${this.inkbox.looks[shape.look]} stroke-width="${s.number(pen)}" stroke-linejoin="round"/>`;
    if (shape.sign) return body + this.letters(shape.sign, x, y, half * shape.sign_height, shape.sign_pen);
    return body + this.label(label, x, y + half * shape.label_drop, half, shape.label_paper);
  }

  label(label, x, y, half, paper) {
    if (!label) return "";
    const height = half * ({ 1: 1.1, 2: 0.95 }[label.length] ?? 0.68);
    return this.letters(label, x, y, height, Math.max(height * 0.17, 2.2), paper);
  }

  // The places of a path in units, from the edge of the symbol it leaves to the edge of the one it meets.
  route(frame, path) {
    const starter = frame.objects.find((thing) => thing.id === path.from);
    const places = starter ? [[starter.x, starter.y], ...path.points] : path.points;
    let route = places.map((place) => this.at(place));
    const { strokes } = this.inkbox;
    if (path.kind === "line") return route;
    if (path.kind === "kick" && route.length === 2) route = s.bent(route, (place) => this.held(place, 8, 8), strokes);
    const end = route.at(-1);
    const met = frame.objects.filter((other) => other !== starter && this.meets(other, end)).map((other) => this.reach(other));
    return s.trimmed(route, this.reach(starter) + 4, met.length ? Math.max(...met) + 4 : 0, strokes);
  }

  meets(thing, end) {
    const solid = !this.inkbox.flat.includes(thing.kind);
    return solid && s.lengthOf([this.at([thing.x, thing.y]), end]) < this.reach(thing);
  }

  reach(thing) {
    return this.half * Math.max(...this.inkbox.shapes[thing.kind].extent);
  }

  trail(kind, route) {
    const { sizes, strokes, dashes } = this.inkbox;
    if (kind === "line") return this.stroke(s.pathData(route), sizes.PEN * 1.1, dashes.line);
    if (kind === "tackle") {
      return this.stroke(s.rounded(route, strokes), sizes.PEN) + this.stroke(s.pathData(s.bar(route, strokes)), sizes.PEN * 1.6);
    }
    const [shaft, head] = s.arrow(route, strokes);
    const data = kind === "carry" ? s.pathData(s.zigzag(shaft, strokes)) : s.rounded(shaft, strokes);
    return this.stroke(data, sizes.PEN, dashes[kind] ?? "") + `<path d="${s.pathData(head)}Z" fill="currentColor"/>`;
  }

  wordsOn(path, route, crowd) {
    let drawn = "";
    if (path.order !== null) drawn += this.disc(path.order, route, crowd);
    if (path.hang !== null) {
      const text = `K ${path.hang} s`;
      const half = this.lettersWidth(text, 18) / 2;
      const [x, y] = this.held(s.sideways(route, 0.6, -half - 8), half, 9);
      drawn += this.letters(text, x, y, 18, 9, true) + this.letters(text, x, y, 18, 3);
    }
    return path.label ? drawn + this.words(path.label, route, path.kind === "line") : drawn;
  }

  // A place off the middle of a path, on its right unless there is clearly more room on its left.
  beside(route, crowd) {
    const { DISC } = this.inkbox.sizes;
    const off = this.half + DISC * 0.7;
    const [right, left] = [1, -1].map((side) => this.held(s.sideways(route, 0.5, side * off), DISC + 2, DISC + 2));
    const room = (place) => (crowd.length ? Math.min(...crowd.map((other) => s.distance(place, other))) : 0);
    return room(left) > room(right) + 1 ? left : right;
  }

  disc(order, route, crowd) {
    const { DISC } = this.inkbox.sizes;
    const centre = s.lengthOf(route) > 5 * DISC ? s.along(route, 0.42) : this.beside(route, crowd);
    const [x, y] = this.held(centre, DISC + 2, DISC + 2);
    const ring = `<circle cx="${s.number(x)}" cy="${s.number(y)}" r="${DISC}" fill="currentColor" ${PAPER_EDGE} stroke-width="2.5"/>`;
    return ring + this.letters(`${order}`, x, y, order < 10 ? 15 : 11, 3, true);
  }

  words(label, route, atStart) {
    const { LETTERS } = this.inkbox.sizes;
    const half = [...label].length * LETTERS * 0.3;
    const place = atStart ? [route[0][0] + half + 4, route[0][1] - 12] : s.sideways(route, 0.62, -14);
    const [x, y] = this.held(place, half, LETTERS / 2);
    const common = `x="${s.number(x)}" y="${s.number(y + LETTERS * 0.35)}" font-size="${LETTERS}" text-anchor="middle"`;
    const text = escaped(label);
    return `<text ${common} ${PAPER_EDGE} fill="none" stroke-width="6" aria-hidden="true">${text}</text>`
      + `<text ${common} fill="currentColor">${text}</text>`;
  }

  stroke(data, width, more = "") {
    const caps = more.includes("linecap") ? "" : ' stroke-linecap="round"';
    return `<path d="${data}" fill="none" ${INK} stroke-width="${s.number(width)}"${caps} stroke-linejoin="round"${more}/>`;
  }

  letters(text, x, y, height, pen, paper = false) {
    const { glyphs } = this.inkbox;
    const size = height / glyphs.HEIGHT;
    let left = x - this.lettersWidth(text, height) / 2;
    let data = "";
    for (const sign of text) {
      data += placed(glyphs.STROKES[sign] ?? "", left, y - height / 2, size);
      left += ((glyphs.WIDTHS[sign] ?? glyphs.WIDTH) + glyphs.GAP) * size;
    }
    return `<path d="${data}" fill="none" ${paper ? PAPER_EDGE : INK} stroke-width="${s.number(pen)}" stroke-linecap="round" stroke-linejoin="round"/>`;
  }

  lettersWidth(text, height) {
    const { HEIGHT, WIDTH, GAP, WIDTHS } = this.inkbox.glyphs;
    const widths = [...text].reduce((sum, sign) => sum + (WIDTHS[sign] ?? WIDTH), 0);
    return ((widths + GAP * (text.length - 1)) * height) / HEIGHT;
  }
}

// Path data made for a field around (0, 0), set at a place in a size.
function placed(data, left, top, size) {
  return data.replace(PAIR, (_pair, x, y) => `${s.tenth(left + Number(x) * size)},${s.tenth(top + Number(y) * size)}`);
}

// The parts of the lines of a pitch inside the area, moved so that its lower left corner is (0, 0).
function linesWithin(lines, corner, area) {
  const [left, foot, right, head] = [corner.x, corner.y, corner.x + area.width, corner.y + area.length];
  const moved = (x, y) => [Math.round((x - left) * 100) / 100, Math.round((y - foot) * 100) / 100];
  return lines.flatMap((line) => {
    const [x1, x2] = [line.start[0], line.end[0]].sort((one, other) => one - other);
    const [y1, y2] = [line.start[1], line.end[1]].sort((one, other) => one - other);
    if (x2 < left || x1 > right || y2 < foot || y1 > head) return [];
    const [start, end] = [[Math.max(x1, left), Math.max(y1, foot)], [Math.min(x2, right), Math.min(y2, head)]];
    const onlyTouches = start[0] === end[0] && start[1] === end[1] && line.style !== "post";
    return onlyTouches ? [] : [{ ...line, start: moved(...start), end: moved(...end) }];
  });
}

function escaped(text) {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");
}
