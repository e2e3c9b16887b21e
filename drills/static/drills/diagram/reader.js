// A drill's page plays its drawing: frame by frame with the buttons, or moving. Without this all frames are shown.

import { Drawing } from "./draw.js";
import { Player } from "./player.js";
import { Words } from "./words.js";

export class Reader {
  constructor(root, { diagram, inkbox, words }, frames = document.querySelector("[data-frames]")) {
    this.root = root;
    this.diagram = diagram;
    this.words = new Words(words, inkbox.names);
    this.frames = frames;
    this.drawing = new Drawing(inkbox, diagram);
    this.stage = root.querySelector("svg");
    this.stage.setAttribute("viewBox", `0 0 ${this.drawing.width} ${this.drawing.height}`);
    this.player = new Player((index, places) => this.show(index, places));
    this.index = 0;
    this.open = false;
    root.addEventListener("click", (event) => this.act(event.target.closest("button")?.dataset.do));
    root.hidden = false;
    this.renderControls();
  }

  act(verb) {
    if (!verb) return;
    const wasPlaying = this.player.playing;
    this.player.stop();
    const last = this.diagram.frames.length - 1;
    if (verb === "play" && !wasPlaying) return this.play();
    if (verb === "previous" || verb === "next") {
      const to = this.open ? this.index + (verb === "next" ? 1 : -1) : 0;
      this.show(Math.min(Math.max(to, 0), last), null);
    }
    if (verb === "all") this.open = false;
    this.renderControls();
  }

  async play() {
    const playing = this.player.play(this.diagram, 0);
    this.renderControls();
    await playing;
    this.renderControls();
  }

  show(index, places) {
    this.open = true;
    this.index = index;
    this.stage.innerHTML = this.drawing.frame(index, { places });
    if (places) return;
    this.root.querySelector("[role=status]").textContent = this.words.frame(this.diagram, index);
    this.renderControls();
  }

  renderControls() {
    this.root.querySelector("[data-stage]").hidden = !this.open;
    this.frames.hidden = this.open;
    this.root.querySelector("[data-do=all]").hidden = !this.open;
    this.root.querySelector("[data-part=play-word]").textContent = this.words.say(this.player.playing ? "stop" : "play");
    const single = this.diagram.frames.length === 1;
    for (const verb of ["previous", "next"]) this.root.querySelector(`[data-do=${verb}]`).hidden = single;
  }
}

const root = document.querySelector("[data-player]");
if (root) new Reader(root, JSON.parse(document.getElementById("played").textContent));
