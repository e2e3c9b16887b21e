// Strokes that the server does not have yet, kept on this device: one entry for each club, drill, user and version.

const HEAD = "plumbline-diagram";

export class Kept {
  constructor({ club, drill, user, version }) {
    this.prefix = [HEAD, club, drill, user, ""].join("/");
    this.version = version;
  }

  // False if this browser keeps nothing.
  put(diagram) {
    try {
      localStorage.setItem(this.prefix + this.version, JSON.stringify({ version: this.version, diagram, at: Date.now() }));
      return true;
    } catch {
      return false;
    }
  }

  // The latest of what was kept, of whatever version; null if there is nothing.
  find() {
    try {
      const all = this.keys().map((key) => JSON.parse(localStorage.getItem(key)));
      return all.sort((one, other) => other.at - one.at)[0] ?? null;
    } catch {
      return null;
    }
  }

  clear() {
    try {
      for (const key of this.keys()) localStorage.removeItem(key);
    } catch {
      // Nothing was kept, then.
    }
  }

  keys() {
    return Object.keys(localStorage).filter((key) => key.startsWith(this.prefix));
  }
}
