// What stands around the drawing: frames, area, tools and the state of saving, as the editor has them.

export class Bars {
  constructor(host) {
    this.host = host;
  }

  render() {
    this.renderFrames();
    this.renderArea();
    this.renderButtons();
  }

  renderFrames() {
    const buttons = this.host.diagram.frames.map((frame, index) => {
      const button = document.createElement("button");
      Object.assign(button, { type: "button", textContent: index + 1, className: index === this.host.frame ? "" : "second" });
      button.dataset.frame = index;
      button.setAttribute("aria-label", this.host.words.say("frame", { n: index + 1 }) + (frame.note ? `: ${frame.note}` : ""));
      if (index === this.host.frame) button.setAttribute("aria-current", "step");
      return button;
    });
    const strip = this.host.part("frames");
    const hadFocus = strip.contains(document.activeElement);
    strip.replaceChildren(...buttons);
    if (hadFocus) buttons[this.host.frame].focus();
    setValue(this.host.part("note"), this.host.now.note);
  }

  renderArea() {
    const { area, pitch } = this.host.diagram;
    setValue(this.host.part("width"), area.width);
    setValue(this.host.part("length"), area.length);
    this.host.part("on-pitch").checked = Boolean(pitch);
    this.host.part("corner").hidden = !pitch;
    setValue(this.host.part("pitch-x"), pitch?.x ?? "");
    setValue(this.host.part("pitch-y"), pitch?.y ?? "");
  }

  renderButtons() {
    const count = this.host.diagram.frames.length;
    const able = {
      undo: this.host.history.before.length, redo: this.host.history.after.length, "frame-remove": count > 1,
      "frame-earlier": this.host.frame > 0, "frame-later": this.host.frame < count - 1,
      "frame-add": count < this.host.inkbox.limits.MOST_FRAMES, previous: this.host.frame > 0, next: this.host.frame < count - 1,
    };
    for (const [verb, can] of Object.entries(able)) {
      const button = this.host.root.querySelector(`[data-do=${verb}]`);
      button.setAttribute("aria-disabled", String(!can));
    }
    for (const button of this.host.root.querySelectorAll("[data-tool]")) {
      if (button.localName === "button") button.setAttribute("aria-pressed", String(button.dataset.tool === this.host.tool));
    }
    this.host.root.querySelector("[data-do=bend]").hidden = this.host.chosen?.at === undefined;
    this.host.root.querySelector("[data-do=play] [data-part=play-word]").textContent = this.host.words.say(this.host.playing ? "stop" : "play");
    this.host.part("state").textContent = this.host.words.say(this.host.session.dirty ? "state_unsaved" : "state_saved", { n: this.host.session.version });
    this.host.part("state").classList.toggle("near", this.host.session.dirty);
  }
}

function setValue(input, value) {
  if (document.activeElement !== input || String(input.value) !== String(value)) input.value = value;
}
