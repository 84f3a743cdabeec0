// The drawing of the machine: lines that the server worked out, projected and turned. Nothing is computed here but
// where a given point falls on the screen, and small motions times the stated factor.

(() => {
  const NS = "http://www.w3.org/2000/svg";
  const make = (name, parent, attributes = {}) => {
    const node = document.createElementNS(NS, name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    parent?.appendChild(node);
    return node;
  };
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const mix = (a, s, b, t) => [a[0] * s + b[0] * t, a[1] * s + b[1] * t, a[2] * s + b[2] * t];
  const unit = (a) => { const n = Math.hypot(...a) || 1; return [a[0] / n, a[1] / n, a[2] / n]; };
  const n1 = (v) => Math.round(v * 10) / 10;
  // a block's corners by bits of X, Y, Z; each face in turn
  const FACES = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]];
  const VIEWS = { axonometric: [35, 26], front: [0, 0], side: [90, 0], top: [0, 90] };
  const EVERY = 90; // milliseconds between two questions to the server
  const PATIENCE = 3000;

  // what the server gives, what is there to be drawn, and where it falls on the screen
  class Drawing {
    constructor(box) {
      this.box = box;
      this.angles = [...VIEWS.axonometric];
      this.zoom = 1;
      this.pan = [0, 0];
      this.times = null;
      this.show = { expected: true, unknown: true, marks: true, numbers: true };
      this.asked = 0;
      this.sentAt = 0;
      this.page = box.closest(".machine-page");
      this.svg = make("svg", null, { class: "machine-svg", role: "group", tabindex: "0" });
      this.listen();
      new ResizeObserver(() => this.place()).observe(box);
      this.watch();
    }

    // --- what the server gives

    watch() {
      // the figures and the lines of a pose come in one piece, so they are always of the same pose
      new MutationObserver(() => this.read()).observe(this.page, {
        subtree: true, childList: true, attributes: true, attributeFilter: ["data-at", "data-form"],
      });
    }

    form() {
      const text = this.box.dataset.form;
      if (text === this.formText && this.svg.isConnected) return;
      this.formText = text;
      this.lines = JSON.parse(text);
      this.box.appendChild(this.svg);
      this.build();
    }

    read() {
      this.form();
      const text = this.page.querySelector("#machine-at")?.dataset.at;
      if (!text || text === this.atText) return;
      const at = JSON.parse(text);
      if (at.key !== this.lines.key) {
        if (this.wanted !== at.key) { this.wanted = at.key; loopwright.act("machine lines", {}, null); }
        return;
      }
      this.atText = text;
      this.at = at;
      if (this.times === null) this.times = at.times;
      this.answered();
      this.redraw();
      this.remember();
    }

    answered() {
      const { at } = this;
      if (Number(at.sequence) >= this.asked) {
        this.waiting = false;
        this.box.dataset.roundTrip = String(Math.round(performance.now() - this.sentAt));
        this.box.dataset.answered = at.sequence;
      }
      for (const slider of this.page.querySelectorAll("[data-axis]")) {
        if (!this.waiting && !this.later && slider !== this.held) slider.value = at.pose[slider.dataset.axis];
        slider.setAttribute("aria-valuetext", `${at.pose[slider.dataset.axis]} ${this.unitOf(slider)}`);
      }
      for (const field of this.page.querySelectorAll("[data-typed]")) {
        const refused = at.refused === field.dataset.typed;
        field.setAttribute("aria-invalid", String(refused));
        if (!refused && field.dataset.dirty !== "yes") field.value = at.pose[field.dataset.typed];
      }
      if (this.later) this.ask(this.later.axis);
    }

    unitOf(slider) { return slider.closest(".axis").querySelector(".unit").textContent; }

    remember() {
      // the address keeps the pose and what is picked, so that it can be opened again or sent to somebody
      const address = new URL(location.href);
      const [kind, name, ...below] = (this.at.picked || "").split("/");
      if (!address.pathname.startsWith("/machine")) return;
      address.pathname = kind === "joint" ? `/machine/${encodeURIComponent([name, ...below].join("/"))}` : "/machine";
      if (this.at.picked && kind !== "joint") address.searchParams.set("pick", this.at.picked);
      else address.searchParams.delete("pick");
      for (const [letter, position] of Object.entries(this.at.pose)) address.searchParams.set(letter, position);
      const target = this.page.querySelector("select[name=target]");
      if (target) address.searchParams.set("target", target.value);
      if (address.href !== location.href) history.replaceState(history.state, "", address);
    }

    // --- asking for another pose: the newest wins, and no more than the server can answer

    ask(axis) {
      const pose = {};
      for (const slider of this.page.querySelectorAll("[data-axis]")) {
        const typed = this.page.querySelector(`[data-typed="${slider.dataset.axis}"]`);
        pose[slider.dataset.axis] = typed.dataset.dirty === "yes" ? typed.value : slider.value;
      }
      const now = performance.now();
      // what is typed stays as typed until it is sent
      if ((this.waiting && now - this.sentAt < PATIENCE) || now - this.sentAt < EVERY) {
        this.later = { axis };
        clearTimeout(this.timer);
        this.timer = setTimeout(() => this.later && this.ask(this.later.axis), EVERY);
        return;
      }
      this.later = null;
      for (const typed of this.page.querySelectorAll("[data-typed]")) delete typed.dataset.dirty;
      this.waiting = true;
      this.sentAt = now;
      this.asked += 1;
      loopwright.act("machine pose", { pose: JSON.stringify(pose), sequence: String(this.asked), axis }, null);
    }

    // --- parts of the drawing

    build() {
      const { svg, lines } = this;
      svg.replaceChildren();
      svg.setAttribute("aria-label", lines.words.drawing);
      this.solids = make("g", svg, { class: "solids", "aria-hidden": "true" });
      this.markLayer = make("g", svg, { class: "marks", role: "toolbar", "aria-label": lines.words.things });
      this.expected = make("g", svg, { class: "expected", "aria-hidden": "true" });
      this.unknown = make("g", svg, { class: "unknown", "aria-hidden": "true" });
      this.tool = make("g", svg, { class: "tool-error", "aria-hidden": "true" });
      this.numbers = make("g", svg, { class: "numbers" });
      this.rules = make("g", svg, { class: "rules", "aria-hidden": "true" });
      this.plates = [];
      this.ribs = [];
      lines.bodies.forEach((body, number) => {
        for (const corners of body.plates) {
          const group = make("g", this.solids, { class: "slab" });
          group.dataset.pick = body.pick;
          this.plates.push({ number, corners, group, faces: FACES.map(() => make("path", group)) });
        }
        const group = make("g", this.solids, { class: "ribs" });
        group.dataset.pick = body.pick;
        const webs = body.webs.map(() => make("path", group, { class: "web" }));
        this.ribs.push({ number, pairs: body.ribs, group, webs, path: make("path", group, { class: "rib" }) });
      });
      this.ghosts = lines.bodies.map((body) => ({ body, path: make("path", this.expected) }));
      this.bars = lines.bodies.map(() => make("path", this.unknown));
      this.cones = lines.bodies.flatMap((body, number) => body.tools.map((tool) => (
        { number, tool, path: make("path", this.markLayer, { class: "cone" }), ghost: make("path", this.expected) })));
      this.marks = lines.marks.map((mark) => this.pickable(mark));
      this.places = [];
      this.balloons = lines.bodies.map((body) => this.balloon(body));
      this.stated = make("text", this.rules, { class: "stated" });
      this.lengthRule = this.rule();
      this.motionRule = this.rule("expected");
      this.triad = ["X", "Y", "Z"].map((letter) => {
        const group = make("g", this.rules, { class: "triad" });
        make("path", group);
        make("text", group).textContent = letter;
        return group;
      });
      this.current = 0;
      this.rove();
    }

    rule(look = "") {
      const group = make("g", this.rules, { class: `rule ${look}` });
      return { group, path: make("path", group), text: make("text", group) };
    }

    pickable(mark, parent = this.markLayer) {
      const node = make("g", parent, { class: `mark ${mark.kind}`, role: "button", tabindex: "-1", "aria-label": mark.label });
      node.dataset.pick = mark.pick;
      make("title", node).textContent = mark.label;
      const path = make("path", node);
      const arrows = make("path", node, { class: "arrow" });
      return { mark, node, path, arrows };
    }

    balloon(body) {
      const node = make("g", this.numbers, { class: "balloon-mark" });
      node.dataset.pick = body.pick;
      make("title", node).textContent = body.label;
      const leader = make("path", node, { class: "leader" });
      const dotAt = make("circle", node, { r: 2.2, class: "leader-dot" });
      const press = make("g", node, { role: "button", tabindex: "-1", "aria-label": body.label });
      press.dataset.pick = body.pick;
      const ring = make("circle", press, { r: 13 });
      const text = make("text", press);
      text.textContent = body.number;
      return { node: press, leader, dotAt, ring, text, mark: { pick: body.pick, label: body.label, kind: "body", joint: "" } };
    }

    order() { return [...this.balloons, ...this.marks, ...this.places]; }

    rove() {
      const things = this.order();
      things.forEach((thing, i) => thing.node.setAttribute("tabindex", i === this.current ? "0" : "-1"));
    }

    // --- projecting

    camera() {
      const [turn, rise] = this.angles.map((a) => (a * Math.PI) / 180);
      const up = unit(this.lines.up);
      const x = Math.abs(up[0]) < 0.9 ? [1, 0, 0] : [0, 1, 0];
      const right0 = unit(mix(x, 1, up, -dot(x, up)));
      const front = cross(right0, up);
      const toward0 = mix(front, Math.cos(turn), right0, Math.sin(turn));
      this.right = mix(right0, Math.cos(turn), front, -Math.sin(turn));
      this.toward = mix(toward0, Math.cos(rise), up, Math.sin(rise));
      this.up = mix(up, Math.cos(rise), toward0, -Math.sin(rise));
    }

    place() {
      const width = this.box.clientWidth;
      const height = this.box.clientHeight;
      if (!width || !height) return;
      this.width = width;
      this.height = height;
      this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
      if (this.at) this.redraw();
    }

    fit() {
      let [left, right, top, bottom] = [1e9, -1e9, 1e9, -1e9];
      for (const p of this.lines.reach) {
        const [x, y] = [dot(p, this.right), -dot(p, this.up)];
        left = Math.min(left, x); right = Math.max(right, x);
        top = Math.min(top, y); bottom = Math.max(bottom, y);
      }
      const margin = this.width > 560 ? 64 : 38;
      const scale = Math.min((this.width - 2 * margin) / (right - left || 1), (this.height - 104) / (bottom - top || 1));
      this.scale = scale * this.zoom;
      this.shift = [
        this.width / 2 - ((left + right) / 2) * this.scale + this.pan[0],
        (this.height - 30) / 2 - ((top + bottom) / 2) * this.scale + this.pan[1],
      ];
    }

    project(p) { return [this.shift[0] + this.scale * dot(p, this.right), this.shift[1] - this.scale * dot(p, this.up)]; }
    point(i) { const { points } = this.at; return [points[3 * i], points[3 * i + 1], points[3 * i + 2]]; }
    moved(i) {
      const { points, moves } = this.at;
      const f = this.times * 1e-6;
      return [0, 1, 2].map((k) => points[3 * i + k] + f * moves[3 * i + k]);
    }
    direction(i) { const { directions } = this.at; return [directions[3 * i], directions[3 * i + 1], directions[3 * i + 2]]; }
  }

  loopwright.machine = { make, dot, cross, mix, unit, n1, FACES, VIEWS, Drawing };
})();
