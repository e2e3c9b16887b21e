// What somebody typed into a field of a row: the drawing with it, or the key of the sentence that says what is wrong.

import * as model from "./model.js";

export function typed(diagram, frame, hit, field, value, limits) {
  return hit.what === "thing" ? thing(diagram, frame, hit.id, field, value) : path(diagram, frame, hit.at, field, value, limits);
}

function thing(diagram, frame, id, field, value) {
  if (field === "label") {
    const label = value.toUpperCase();
    return /^[A-Z0-9]{1,3}$/.test(label) ? model.labelThing(diagram, id, label) : "bad_label";
  }
  if (value === "" || !Number.isFinite(Number(value))) return "bad_number";
  const { x, y } = { ...model.findThing(diagram.frames[frame], id), [field]: Number(value) };
  return model.moveThing(diagram, frame, id, [x, y]);
}

function path(diagram, frame, at, field, value, limits) {
  const change = (what) => model.changePath(diagram, frame, at, what);
  const number = Number(value);
  if (field === "label") return change({ label: value.slice(0, limits.LABEL_LENGTH) });
  if (field === "order" && value === "") return change({ order: null });
  if (field === "order") return Number.isInteger(number) && number >= 1 && number <= limits.MOST_ORDER ? change({ order: number }) : "bad_order";
  if (field === "hang") return number >= limits.LEAST_HANG && number <= limits.MOST_HANG ? change({ hang: model.tenth(number) }) : "bad_hang";
  const points = model.pointsFromText(value)?.map((place) => model.snapped(place, diagram.area, 0));
  const least = model.leastPoints(diagram.frames[frame].paths[at]);
  return points && points.length >= least && points.length < limits.MOST_POINTS + least ? change({ points }) : "bad_points";
}
