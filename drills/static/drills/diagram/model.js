// What may be done to a diagram. Every function takes one and gives a new one; nothing is changed in place, so that
// undoing is going back to the one before. Places in metres: x from the left edge, y up from the foot.

const PREFIX = { attacker: "a", defender: "d", ball: "b", cone: "c", bag: "g", shield: "s", ruck: "r", coach: "k" };
const OTHER_SIDE = { 11: "14", 14: "11" };
const PLAYERS = ["attacker", "defender"];
const IN_HAND = 1.5; // metres between a player and the ball that he holds

export const isPlayer = (thing) => PLAYERS.includes(thing.kind);
export const tenth = (metres) => Math.round(metres * 10) / 10;
export const samePlace = ([ax, ay], [bx, by]) => ax === bx && ay === by;
const between = (value, least, most) => Math.min(Math.max(value, least), most);
const gap = (one, other) => Math.hypot(one.x - other.x, one.y - other.y);

export function blank(width, length) {
  const area = { width: between(width || 20, 2, 90), length: between(length || 20, 2, 130) };
  return { format: "plumbline-diagram/1", area, pitch: null, frames: [{ note: "", objects: [], paths: [] }] };
}

// The nearest place inside the area on a grid of so many metres; the edges belong to the grid.
export function snapped([x, y], area, grid) {
  const onto = (value, most) => {
    const near = between(grid ? Math.round(value / grid) * grid : value, 0, most);
    return tenth(grid && most - value < grid / 2 && most - value < value - near ? most : near);
  };
  return [onto(x, area.width), onto(y, area.length)];
}

const inside = ([x, y], area) => [tenth(between(x, 0, area.width)), tenth(between(y, 0, area.length))];
const swap = (list, place, item) => list.map((each, at) => (at === place ? item : each));

export function withFrame(diagram, index, change) {
  return { ...diagram, frames: swap(diagram.frames, index, { ...diagram.frames[index], ...change }) };
}

export const findThing = (frame, id) => frame.objects.find((thing) => thing.id === id);

// Every place of a path, the one where it starts included.
export function routeOf(frame, path) {
  const starter = path.from && findThing(frame, path.from);
  return starter ? [[starter.x, starter.y], ...path.points] : path.points;
}

export function addThing(diagram, index, kind, place, label = null) {
  const frame = diagram.frames[index];
  const taken = new Set(diagram.frames.flatMap((each) => each.objects.map((thing) => thing.id)));
  const [x, y] = inside(place, diagram.area);
  const thing = { id: free(taken, (n) => `${PREFIX[kind]}${n}`), kind, x, y, label: label ?? nextLabel(frame, kind) };
  return [withFrame(diagram, index, { objects: [...frame.objects, thing] }), thing.id];
}

function nextLabel(frame, kind) {
  if (!PLAYERS.includes(kind)) return "";
  return free(new Set(frame.objects.filter((thing) => thing.kind === kind).map((thing) => thing.label)), String);
}

function free(taken, name) {
  let n = 1;
  while (taken.has(name(n))) n += 1;
  return name(n);
}

export function moveThing(diagram, index, id, place) {
  const [x, y] = inside(place, diagram.area);
  const objects = diagram.frames[index].objects.map((thing) => (thing.id === id ? { ...thing, x, y } : thing));
  return withFrame(diagram, index, { objects });
}

// One thing has one number, in whatever frame it is changed.
export function labelThing(diagram, id, label) {
  const frames = diagram.frames.map((frame) => ({
    ...frame, objects: frame.objects.map((thing) => (thing.id === id ? { ...thing, label } : thing)),
  }));
  return { ...diagram, frames };
}

export function removeThing(diagram, index, id) {
  const { objects, paths } = diagram.frames[index];
  return withFrame(diagram, index, {
    objects: objects.filter((thing) => thing.id !== id), paths: paths.filter((path) => path.from !== id),
  });
}

export function addPath(diagram, index, path) {
  const { kind, from } = path;
  const points = path.points.map((place) => inside(place, diagram.area));
  const whole = { kind, from, points, order: null, hang: kind === "kick" ? 2 : null, label: "" };
  return withFrame(diagram, index, { paths: [...diagram.frames[index].paths, whole] });
}

export function changePath(diagram, index, place, change) {
  const { paths } = diagram.frames[index];
  return withFrame(diagram, index, { paths: swap(paths, place, { ...paths[place], ...change }) });
}

export function removePath(diagram, index, place) {
  return withFrame(diagram, index, { paths: diagram.frames[index].paths.filter((_path, at) => at !== place) });
}

export function movePoint(diagram, index, place, point, to) {
  const { points } = diagram.frames[index].paths[place];
  return changePath(diagram, index, place, { points: swap(points, point, inside(to, diagram.area)) });
}

// A new point before the one that now has this number; at the end if there is none.
export function addPoint(diagram, index, place, point, at) {
  const { points } = diagram.frames[index].paths[place];
  return changePath(diagram, index, place, { points: points.toSpliced(point, 0, inside(at, diagram.area)) });
}

export function removePoint(diagram, index, place, point) {
  const { points } = diagram.frames[index].paths[place];
  return changePath(diagram, index, place, { points: points.toSpliced(point, 1) });
}

export const leastPoints = (path) => (path.from === null ? 2 : 1);

// Who stands where once a frame has been played: runners at the end of their paths, the ball with whom it went.
export function ends(frame) {
  return steps(frame).reduce((places, step) => new Map([...places, ...step.map(({ id, route }) => [id, at(route.at(-1))])]), new Map());
}

const at = ([x, y]) => ({ x, y });

// What moves, step by step: in each a list of `{id, route}`, the ball with its carrier. Paths of one order share a
// step, but what has moved in it waits for the next: a ball is passed before it is carried on.
export function steps(frame) {
  const moving = frame.paths.filter((path) => path.kind !== "line" && path.points.length);
  const orders = [...new Set(moving.map((path) => path.order ?? 0))].sort((one, other) => one - other);
  const now = new Map(frame.objects.map((thing) => [thing.id, { ...thing }]));
  return orders.flatMap((order) => together(moving.filter((path) => (path.order ?? 0) === order && now.has(path.from)), now));
}

function together(paths, now) {
  const found = [[]];
  for (const path of paths) {
    const moves = movesOf(path, now);
    if (moves.some(({ id }) => found.at(-1).some((other) => other.id === id))) found.push([]);
    found.at(-1).push(...moves);
    for (const { id, route } of moves) Object.assign(now.get(id), at(route.at(-1)));
  }
  return found;
}

function movesOf(path, now) {
  const mover = now.get(path.from);
  const ball = ["carry", "pass", "kick"].includes(path.kind) ? ballOf(mover, now) : null;
  if (path.kind === "pass" || path.kind === "kick") {
    return ball ? [{ id: ball.id, route: [[ball.x, ball.y], ...path.points] }] : [];
  }
  const own = { id: mover.id, route: [[mover.x, mover.y], ...path.points] };
  if (!ball) return [own];
  const [dx, dy] = [ball.x - mover.x, ball.y - mover.y];
  return [own, { id: ball.id, route: own.route.map(([x, y]) => [x + dx, y + dy]) }];
}

// The ball that a player holds: the nearest within reach, or the only one there is.
function ballOf(player, now) {
  const balls = [...now.values()].filter((thing) => thing.kind === "ball").sort((one, other) => gap(one, player) - gap(other, player));
  return balls.length && (gap(balls[0], player) <= IN_HAND || balls.length === 1) ? balls[0] : null;
}

// One more frame: who stood in the last one, where its paths lead.
export function addFrame(diagram) {
  const last = diagram.frames.at(-1);
  const places = ends(last);
  const objects = last.objects.map((thing) => {
    const { x, y } = { ...thing, ...places.get(thing.id) };
    const [inX, inY] = inside([x, y], diagram.area);
    return { ...thing, x: inX, y: inY };
  });
  return { ...diagram, frames: [...diagram.frames, { note: "", objects, paths: [] }] };
}

export const removeFrame = (diagram, index) => ({ ...diagram, frames: diagram.frames.toSpliced(index, 1) });

export function moveFrame(diagram, index, by) {
  const frames = [...diagram.frames];
  frames.splice(index + by, 0, ...frames.splice(index, 1));
  return { ...diagram, frames };
}

// Left for right. Wings swap numbers: 11 stays the left wing and 14 the right one.
export function mirrored(diagram, pitchWidth) {
  const { area, pitch, frames } = diagram;
  const over = (x) => tenth(area.width - x);
  return {
    ...diagram,
    pitch: pitch && { ...pitch, x: pitchWidth - pitch.x - area.width },
    frames: frames.map((frame) => ({
      ...frame,
      objects: frame.objects.map((thing) => ({
        ...thing, x: over(thing.x), label: isPlayer(thing) ? (OTHER_SIDE[thing.label] ?? thing.label) : thing.label,
      })),
      paths: frame.paths.map((path) => ({ ...path, points: path.points.map(([x, y]) => [over(x), y]) })),
    })),
  };
}

// Another size of area; what would lie outside comes to its edge. A window that leaves the pitch is pushed back.
export function resized(diagram, area, limits) {
  const frames = diagram.frames.map((frame) => ({
    ...frame,
    objects: frame.objects.map((thing) => {
      const [x, y] = inside([thing.x, thing.y], area);
      return { ...thing, x, y };
    }),
    paths: frame.paths.map((path) => ({ ...path, points: path.points.map((place) => inside(place, area)) })),
  }));
  const next = { ...diagram, area, frames };
  return diagram.pitch ? windowed(next, diagram.pitch, limits) : next;
}

// The window on a pitch whose lower left corner is there, or none; it stays within reach of the touchlines.
export function windowed(diagram, corner, { width, length, touch, goal }) {
  if (!corner) return { ...diagram, pitch: null };
  const { area } = diagram;
  if (area.width > width + 2 * touch || area.length > length + 2 * goal) return { ...diagram, pitch: null };
  const half = (value) => Math.round(value * 2) / 2;
  return {
    ...diagram,
    pitch: {
      x: between(half(corner.x), -touch, width + touch - area.width),
      y: between(half(corner.y), -goal, length + goal - area.length),
    },
  };
}

export function lengthInMetres(route) {
  const legs = route.slice(1).map(([x, y], place) => Math.hypot(x - route[place][0], y - route[place][1]));
  return tenth(legs.reduce((sum, leg) => sum + leg, 0));
}

// Points as people type them: "4,5 > 6.5,7". Null for what cannot be read.
export const pointsInText = (points) => points.map(([x, y]) => `${x},${y}`).join(" > ");

export function pointsFromText(text) {
  const points = text.split(">").map((part) => part.trim().split(/[\s,;]+/).map(Number));
  return points.every((each) => each.length === 2 && each.every(Number.isFinite)) ? points : null;
}
