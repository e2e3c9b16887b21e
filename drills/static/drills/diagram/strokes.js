// Plane geometry of drawn paths, step for step that of drills/core/strokes.py: the browser shows what the server
// will print. All in units of the drawing, y down. A test compares both, sign by sign.

export const distance = ([ax, ay], [bx, by]) => Math.hypot(bx - ax, by - ay);
const legs = (route) => route.slice(1).map((end, place) => [route[place], end]);
export const lengthOf = (route) => legs(route).reduce((sum, [start, end]) => sum + distance(start, end), 0);

// A tenth as Python writes it: a tie goes to the even digit.
export function tenth(value) {
  const tie = (Math.abs(value) * 4) % 4 === 1;
  return (tie ? Math.trunc(value * 10) / 10 : value).toFixed(1);
}
export const number = (value) => tenth(value).replace(/\.0$/, "").replace(/^-0$/, "0");
export const point = ([x, y]) => `${number(x)},${number(y)}`;
export const pathData = ([first, ...others]) => `M${point(first)}` + others.map((each) => `L${point(each)}`).join("");

export const along = (route, share) => walked(route, share * lengthOf(route))[0];

export function sideways(route, share, off) {
  const [[x, y], leg] = walked(route, share * lengthOf(route));
  const [dx, dy] = direction(...leg);
  return [x - dy * off, y + dx * off];
}

export function trimmed(route, fromStart, fromEnd, { SHORTEST }) {
  const whole = lengthOf(route);
  const off = fromStart + fromEnd;
  const share = off ? Math.min(1, Math.max(0, whole - SHORTEST) / off) : 0;
  return part(route, fromStart * share, whole - fromEnd * share);
}

export function arrow(route, { HEAD, HEAD_HALF }) {
  const head = Math.min(HEAD, lengthOf(route) * 0.9);
  const shaft = part(route, 0, lengthOf(route) - head);
  const [x, y] = shaft.at(-1);
  const tip = route.at(-1);
  const [dx, dy] = direction([x, y], tip);
  const half = (HEAD_HALF * head) / HEAD;
  return [shaft, [tip, [x - dy * half, y + dx * half], [x + dy * half, y - dx * half]]];
}

export function bar(route, { BAR_HALF }) {
  const [x, y] = route.at(-1);
  const [dx, dy] = direction(route.at(-2), route.at(-1));
  return [[x - dy * BAR_HALF, y + dx * BAR_HALF], [x + dy * BAR_HALF, y - dx * BAR_HALF]];
}

export function rounded(route, { CORNER }) {
  let data = `M${point(route[0])}`;
  for (let place = 1; place < route.length - 1; place++) {
    const [before, corner, after] = route.slice(place - 1, place + 2);
    const bend = Math.min(CORNER, distance(before, corner) / 2, distance(corner, after) / 2);
    data += `L${point(towards(corner, before, bend))}Q${point(corner)} ${point(towards(corner, after, bend))}`;
  }
  return data + `L${point(route.at(-1))}`;
}

export function zigzag(route, { ZIG, ZIG_STEP }) {
  const teeth = Math.trunc(lengthOf(route) / ZIG_STEP) - 1;
  if (teeth < 2) return route;
  const inner = Array.from({ length: teeth }, (_, place) =>
    sideways(route, (place + 1) / (teeth + 1), place % 2 ? -ZIG : ZIG));
  return [route[0], ...inner, route.at(-1)];
}

export function bent(route, held, { BULGE, CURVE_STEPS }) {
  const [x1, y1] = route[0];
  const [x2, y2] = route.at(-1);
  const [dx, dy] = [x2 - x1, y2 - y1];
  const [cx, cy] = held([(x1 + x2) / 2 + dy * BULGE, (y1 + y2) / 2 - dx * BULGE]);
  return Array.from({ length: CURVE_STEPS + 1 }, (_, step) => {
    const t = step / CURVE_STEPS;
    const on = (from, over, to) => (1 - t) ** 2 * from + 2 * t * (1 - t) * over + t ** 2 * to;
    return [on(x1, cx, x2), on(y1, cy, y2)];
  });
}

function walked(route, far) {
  for (const [start, end] of legs(route)) {
    const leg = distance(start, end);
    if (far <= leg) return [towards(start, end, far), [start, end]];
    far -= leg;
  }
  return [route.at(-1), [route.at(-2), route.at(-1)]];
}

function part(route, begin, end) {
  const inner = [];
  let far = 0;
  for (const [start, stop] of legs(route)) {
    far += distance(start, stop);
    if (begin < far && far < end) inner.push(stop);
  }
  return [walked(route, begin)[0], ...inner, walked(route, end)[0]];
}

function towards(start, end, far) {
  const [dx, dy] = direction(start, end);
  return [start[0] + dx * far, start[1] + dy * far];
}

function direction(start, end) {
  const length = distance(start, end) || 1;
  return [(end[0] - start[0]) / length, (end[1] - start[1]) / length];
}
