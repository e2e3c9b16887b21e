// Every state of the drawing since the page was opened.

export class History {
  constructor(now) {
    this.now = now;
    this.before = [];
    this.after = [];
  }

  do(next) {
    if (next === this.now) return;
    this.before.push(this.now);
    this.after = [];
    this.now = next;
  }

  undo() {
    return this.step(this.before, this.after);
  }

  redo() {
    return this.step(this.after, this.before);
  }

  step(from, to) {
    if (!from.length) return false;
    to.push(this.now);
    this.now = from.pop();
    return true;
  }
}
