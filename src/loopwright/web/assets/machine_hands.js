// The drawing of the machine in somebody's hands: turned, zoomed, picked from, its axes moved; see machine.js.

(() => {
  const { VIEWS } = loopwright.machine;
  const drawings = new WeakMap();

  class Drawing extends loopwright.machine.Drawing {
    listen() {
      const { svg, page } = this;
      this.touches = new Map();
      svg.addEventListener("pointerdown", (event) => this.press(event));
      svg.addEventListener("pointermove", (event) => this.drag(event));
      for (const name of ["pointerup", "pointercancel"]) svg.addEventListener(name, (event) => this.release(event, name));
      svg.addEventListener("pointerleave", () => this.say(null));
      svg.addEventListener("wheel", (event) => {
        if (!event.ctrlKey && document.activeElement !== svg) return;
        event.preventDefault();
        this.nearer(event.deltaY < 0 ? 1.15 : 1 / 1.15);
      }, { passive: false });
      svg.addEventListener("keydown", (event) => this.key(event));
      svg.addEventListener("focusin", (event) => {
        const thing = this.order().find((one) => one.node === event.target);
        if (thing) { this.current = this.order().indexOf(thing); this.rove(); this.say(thing); }
      });
      page.addEventListener("click", (event) => {
        const button = event.target.closest("[data-view],[data-turn]");
        if (!button) return;
        if (button.dataset.view) this.look(button.dataset.view);
        else this.turn(button.dataset.turn);
      });
      page.addEventListener("input", (event) => this.changed(event));
      page.addEventListener("change", (event) => this.changed(event));
      page.addEventListener("keydown", (event) => {
        if (event.key === "Enter" && event.target.dataset?.typed) this.typed(event.target);
      });
      for (const name of ["pointerdown", "pointerup"]) {
        page.addEventListener(name, (event) => {
          if (event.target.dataset?.axis) this.held = name === "pointerdown" ? event.target : null;
        });
      }
    }

    changed(event) {
      const field = event.target;
      if (field.dataset.axis) {
        const typed = this.page.querySelector(`[data-typed="${field.dataset.axis}"]`);
        delete typed.dataset.dirty;
        this.ask(field.dataset.axis);
      } else if (field.dataset.typed) {
        if (event.type === "input") field.dataset.dirty = "yes";
        else this.typed(field);
      } else if (field.name === "times") {
        this.times = Number(field.value);
        this.redraw();
      } else if (field.name?.startsWith("show-")) {
        this.show[field.name.slice(5)] = field.checked;
        this.redraw();
      }
    }

    typed(field) {
      if (field.dataset.dirty !== "yes") return;
      this.ask(field.dataset.typed);
    }

    look(name) {
      this.angles = [...VIEWS[name]];
      this.zoom = 1;
      this.pan = [0, 0];
      this.redraw();
    }

    turn(way) {
      const step = 10;
      if (way === "left") this.angles[0] -= step;
      if (way === "right") this.angles[0] += step;
      if (way === "up") this.angles[1] = Math.min(this.angles[1] + step, 90);
      if (way === "down") this.angles[1] = Math.max(this.angles[1] - step, -90);
      if (way === "nearer") this.nearer(1.25);
      if (way === "farther") this.nearer(0.8);
      if (way === "fit") { this.zoom = 1; this.pan = [0, 0]; }
      this.redraw();
    }

    nearer(by) {
      const zoom = Math.min(Math.max(this.zoom * by, 0.4), 30);
      // what is picked stays where it is
      const spot = this.order().find((one) => one.mark.pick === this.at?.picked)?.spot;
      const from = spot && this.at.picked ? [spot[0] - this.width / 2, spot[1] - this.height / 2] : [0, 0];
      const change = zoom / this.zoom;
      this.pan = [0, 1].map((k) => from[k] + (this.pan[k] - from[k]) * change);
      this.zoom = zoom;
      this.redraw();
    }

    key(event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const things = this.order();
      const at = things.findIndex((one) => one.node === event.target);
      const arrows = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };
      if (at >= 0) {
        const step = { ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1 }[event.key];
        if (step) {
          const next = things[(at + step + things.length) % things.length];
          this.current = things.indexOf(next);
          this.rove();
          next.node.focus();
        } else if (event.key === "Enter" || event.key === " ") this.pick(things[at].mark.pick);
        else if (event.key === "Escape") this.svg.focus();
        else return;
      } else if (event.shiftKey && arrows[event.key]) {
        const way = { ArrowLeft: [40, 0], ArrowRight: [-40, 0], ArrowUp: [0, 40], ArrowDown: [0, -40] }[event.key];
        this.pan = [this.pan[0] + way[0], this.pan[1] + way[1]];
        this.redraw();
      } else if (arrows[event.key]) this.turn(arrows[event.key]);
      else if (event.key === "+" || event.key === "=") this.turn("nearer");
      else if (event.key === "-") this.turn("farther");
      else if (event.key === "0") this.turn("fit");
      else return;
      event.preventDefault();
      event.stopPropagation();
    }

    press(event) {
      this.touches.set(event.pointerId, [event.clientX, event.clientY]);
      this.began = [event.clientX, event.clientY];
      this.dragged = false;
      if (this.touches.size === 2) this.spread = this.apart();
    }

    apart() {
      const [a, b] = [...this.touches.values()];
      return { size: Math.hypot(a[0] - b[0], a[1] - b[1]), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
    }

    drag(event) {
      const last = this.touches.get(event.pointerId);
      if (!last) { this.hover(event); return; }
      const now = [event.clientX, event.clientY];
      if (!this.dragged && Math.hypot(now[0] - this.began[0], now[1] - this.began[1]) < 6) return;
      if (!this.dragged) { this.dragged = true; this.svg.setPointerCapture(event.pointerId); }
      this.touches.set(event.pointerId, now);
      const [dx, dy] = [now[0] - last[0], now[1] - last[1]];
      if (this.touches.size === 2) {
        const spread = this.apart();
        this.pan = [0, 1].map((k) => this.pan[k] + spread.middle[k] - this.spread.middle[k]);
        this.zoom = Math.min(Math.max(this.zoom * (spread.size / (this.spread.size || 1)), 0.4), 30);
        this.spread = spread;
      } else if (event.shiftKey || event.buttons === 4) this.pan = [this.pan[0] + dx, this.pan[1] + dy];
      else {
        this.angles[0] -= dx * 0.5;
        if (event.pointerType !== "touch") this.angles[1] = Math.min(Math.max(this.angles[1] + dy * 0.5, -90), 90);
      }
      this.redraw();
    }

    release(event, how) {
      if (!this.touches.delete(event.pointerId) || this.dragged || how !== "pointerup") return;
      const thing = this.under(event);
      if (thing) this.pick(thing);
    }

    // the nearest mark within a finger's width; else the body below
    under(event) {
      const box = this.svg.getBoundingClientRect();
      const [x, y] = [event.clientX - box.left, event.clientY - box.top];
      const reach = event.pointerType === "touch" ? 22 : 12;
      let best = null, least = reach;
      for (const thing of this.order()) {
        if (!thing.spot || (thing.mark.kind !== "body" && !this.show.marks)) continue;
        const away = Math.hypot(thing.spot[0] - x, thing.spot[1] - y);
        if (away < least) { least = away; best = thing.mark.pick; }
      }
      return best || event.target.closest?.("[data-pick]")?.dataset.pick || null;
    }

    hover(event) {
      const pick = this.under(event);
      this.svg.style.cursor = pick ? "pointer" : "grab";
      this.say(this.order().find((one) => one.mark.pick === pick) || null);
    }

    say(thing) {
      const line = this.page.querySelector("#machine-said");
      const words = thing ? thing.mark.label : this.lines?.words.hint || "";
      if (line && line.textContent !== words) line.textContent = words;
    }

    pick(what) { loopwright.act("machine pick", { of: what }, null); }
  }

  loopwright.way("machine", (box) => {
    if (!drawings.has(box)) drawings.set(box, new Drawing(box));
    const drawing = drawings.get(box);
    drawing.read();
    drawing.place();
  });
})();
