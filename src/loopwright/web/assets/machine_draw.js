// The drawing of the machine, line by line; see machine.js.

(() => {
  const { make, dot, cross, mix, unit, n1, FACES } = loopwright.machine;

  loopwright.machine.Drawing = class extends loopwright.machine.Drawing {
    redraw() {
      if (this.frame) return;
      this.frame = requestAnimationFrame(() => { this.frame = 0; this.draw(); });
    }

    draw() {
      if (!this.width || !this.at) return;
      this.camera();
      this.fit();
      // many marks are drawn smaller, until one looks closer
      this.small = Math.min(1, Math.max(0.45, Math.sqrt((70 * this.zoom * this.zoom) / (this.marks.length || 1))));
      const on = this.at.points.length / 3;
      const flat = new Array(on), depth = new Array(on);
      for (let i = 0; i < on; i += 1) {
        const p = this.point(i);
        flat[i] = this.project(p);
        depth[i] = dot(p, this.toward);
      }
      this.flat = flat;
      this.drawSolids(flat);
      this.drawMarks(flat);
      this.drawExpected();
      this.drawError();
      this.drawNumbers(flat);
      this.drawRules();
      this.svg.dataset.drawn = this.at.sequence;
    }

    drawSolids(flat) {
      const picked = this.at.picked;
      for (const plate of this.plates) {
        const spots = plate.corners.map((i) => flat[i]);
        FACES.forEach((face, k) => {
          const area = face.reduce((sum, corner, j) => {
            const [x1, y1] = spots[corner], [x2, y2] = spots[face[(j + 1) % 4]];
            return sum + x1 * y2 - x2 * y1;
          }, 0);
          const path = plate.faces[k];
          if (area >= -0.5) { path.setAttribute("d", ""); return; }
          path.setAttribute("d", `M${face.map((c) => spots[c].map(n1).join(",")).join("L")}z`);
          path.setAttribute("class", `face side${k >> 1}`);
        });
        plate.group.classList.toggle("picked", this.lines.bodies[plate.number].pick === picked);
      }
      for (const rib of this.ribs) {
        rib.path.setAttribute("d", rib.pairs.map(([a, b]) => `M${flat[a].map(n1)}L${flat[b].map(n1)}`).join(""));
        this.lines.bodies[rib.number].webs.forEach((web, k) => {
          rib.webs[k].setAttribute("d", `M${web.map((i) => flat[i].map(n1).join(",")).join("L")}z`);
        });
        rib.group.classList.toggle("picked", this.lines.bodies[rib.number].pick === picked);
      }
      this.sort();
    }

    // blocks along the machine's directions hide one another by the face that parts them
    sort() {
      const boxes = this.plates.map((plate) => {
        const low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
        for (const i of plate.corners) {
          const p = this.point(i);
          for (let k = 0; k < 3; k += 1) { low[k] = Math.min(low[k], p[k]); high[k] = Math.max(high[k], p[k]); }
        }
        return { plate, low, high, middle: dot(mix(low, 0.5, high, 0.5), this.toward) };
      });
      boxes.sort((a, b) => a.middle - b.middle);
      const behind = (a, b) => {
        for (let k = 0; k < 3; k += 1) {
          if (Math.abs(this.toward[k]) < 1e-6) continue;
          const forward = this.toward[k] > 0;
          if (a.high[k] <= b.low[k] + 1e-6) return forward ? 1 : -1;
          if (b.high[k] <= a.low[k] + 1e-6) return forward ? -1 : 1;
        }
        return 0;
      };
      const done = [], left = [...boxes];
      while (left.length) {
        let at = left.findIndex((box) => left.every((other) => other === box || behind(box, other) >= 0));
        if (at < 0) at = 0;
        done.push(left.splice(at, 1)[0]);
      }
      // ribs stand behind the plates of their body that are in front
      let before = null;
      const inTurn = [...this.ribs.map((rib) => rib.group), ...done.map((box) => box.plate.group)];
      for (const node of inTurn.reverse()) {
        if (node.nextSibling !== before) this.solids.insertBefore(node, before);
        before = node;
      }
    }

    drawMarks(flat) {
      const { at, show } = this;
      const [kind, joint] = at.picked.split("/");
      const chosen = kind === "joint" || kind === "mark" ? joint : null;
      this.markLayer.classList.toggle("hidden-marks", !show.marks);
      for (const thing of this.marks) {
        const { mark, path, arrows, node } = thing;
        const spot = flat[mark.points[0]];
        thing.spot = spot;
        path.setAttribute("d", this.outline(mark, flat, spot));
        arrows.setAttribute("d", this.arrows(mark, spot));
        node.classList.toggle("picked", mark.pick === at.picked);
        node.setAttribute("aria-pressed", String(mark.pick === at.picked));
        node.classList.toggle("aside", chosen !== null && mark.joint !== chosen);
      }
      for (const cone of this.cones) {
        cone.path.setAttribute("d", this.cone(this.point(cone.tool[0]), this.point(cone.tool[1])));
      }
      this.drawPlaces();
    }

    drawPlaces() {
      const { at } = this;
      while (this.places.length < at.places.length) {
        const place = at.places[this.places.length];
        this.places.push(this.pickable({ kind: "place", label: place.label, pick: place.pick, joint: "", points: [], normals: [] }));
        this.rove();
      }
      this.places.forEach((thing, i) => {
        const place = at.places[i];
        if (!place) { thing.path.setAttribute("d", ""); return; }
        const [x, y] = this.project(place.at.slice(0, 3));
        thing.spot = [x, y];
        thing.path.setAttribute("d", `M${n1(x - 9)},${n1(y)}a9,9 0 1,0 18,0a9,9 0 1,0 -18,0`);
        thing.node.classList.toggle("picked", place.pick === at.picked);
        thing.node.setAttribute("aria-pressed", String(place.pick === at.picked));
      });
    }

    outline(mark, flat, [x, y]) {
      const at = (dx, dy) => `${n1(x + dx)},${n1(y + dy)}`;
      switch (mark.kind) {
        case "contact": return this.disc(mark);
        case "block": return `M${at(-6, -4.5)}h12v9h-12z`;
        case "motions": return `M${at(-9, -7)}h18L${at(0, 9)}z`;
        case "mass": return `M${at(-7, 0)}a7,7 0 1,0 14,0a7,7 0 1,0 -14,0M${at(0, 0)}v-7a7,7 0 0,1 7,7zM${at(0, 0)}v7a7,7 0 0,1 -7,-7z`;
        case "rail": return this.double(flat[mark.points[0]], flat[mark.points[1]]);
        case "axis": return `M${flat[mark.points[0]].map(n1)}L${flat[mark.points[1]].map(n1)}`;
        case "drive": {
          const screw = mark.points.length > 1 ? `M${flat[mark.points[1]].map(n1)}L${flat[mark.points[2]].map(n1)}` : "";
          return `${screw}M${at(-4, -7)}L${at(4, -7)}L${at(8, 0)}L${at(4, 7)}L${at(-4, 7)}L${at(-8, 0)}z`;
        }
        case "adjuster": {
          const [mx, my] = mark.points.length > 1
            ? mix([...flat[mark.points[0]], 0], 0.5, [...flat[mark.points[1]], 0], 0.5) : [x, y];
          return `M${n1(mx)},${n1(my - 11)}L${n1(mx + 11)},${n1(my)}L${n1(mx)},${n1(my + 11)}L${n1(mx - 11)},${n1(my)}z`;
        }
        default: return "";
      }
    }

    disc(mark) {
      const n = this.direction(mark.normals[0]);
      const u = unit(cross(n, Math.abs(n[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0]));
      const v = cross(n, u);
      const middle = this.point(mark.points[0]);
      const r = (5 * this.small) / this.scale;
      let d = "";
      for (let k = 0; k < 16; k += 1) {
        const a = (k * Math.PI) / 8;
        const p = mix(middle, 1, mix(u, r * Math.cos(a), v, r * Math.sin(a)), 1);
        d += `${k ? "L" : "M"}${this.project(p).map(n1)}`;
      }
      return `${d}z`;
    }

    arrows(mark, [x, y]) {
      let d = "";
      for (const i of mark.normals) {
        if (mark.kind === "drive") continue;
        const n = this.direction(i);
        const [dx, dy] = [dot(n, this.right) * 19 * this.small, -dot(n, this.up) * 19 * this.small];
        const size = Math.hypot(dx, dy);
        if (size < 5) continue;
        const [ux, uy] = [dx / size, dy / size];
        const head = (s) => `L${n1(x + dx - 6 * ux + s * 3 * uy)},${n1(y + dy - 6 * uy - s * 3 * ux)}`;
        d += `M${n1(x)},${n1(y)}L${n1(x + dx)},${n1(y + dy)}${head(1)}M${n1(x + dx)},${n1(y + dy)}${head(-1)}`;
      }
      return d;
    }

    double([x1, y1], [x2, y2]) {
      const size = Math.hypot(x2 - x1, y2 - y1) || 1;
      const [ox, oy] = [(-(y2 - y1) / size) * 2.2, ((x2 - x1) / size) * 2.2];
      const line = (s) => `M${n1(x1 + s * ox)},${n1(y1 + s * oy)}L${n1(x2 + s * ox)},${n1(y2 + s * oy)}`;
      return line(1) + line(-1);
    }

    cone(root, tip) {
      const [x1, y1] = this.project(root), [x2, y2] = this.project(tip);
      const size = Math.hypot(x2 - x1, y2 - y1);
      if (size < 4) return `M${n1(x2 - 6)},${n1(y2)}a6,6 0 1,0 12,0a6,6 0 1,0 -12,0`;
      const [ox, oy] = [(-(y2 - y1) / size) * 7, ((x2 - x1) / size) * 7];
      return `M${n1(x1 + ox)},${n1(y1 + oy)}L${n1(x1 - ox)},${n1(y1 - oy)}L${n1(x2)},${n1(y2)}z`;
    }

    drawExpected() {
      const { times, at, show } = this;
      const drawn = times > 0 && show.expected;
      this.expected.classList.toggle("gone", !drawn);
      this.unknown.classList.toggle("gone", !(times > 0 && show.unknown));
      if (!times) return;
      this.ghosts.forEach(({ body, path }) => {
        let d = "";
        for (const corners of body.plates) d += this.around(corners.map((i) => this.project(this.moved(i))));
        for (const [a, b] of body.ribs) d += `M${this.project(this.moved(a)).map(n1)}L${this.project(this.moved(b)).map(n1)}`;
        path.setAttribute("d", d);
        path.setAttribute("class", body.pick === at.picked ? "picked" : "");
      });
      for (const cone of this.cones) {
        cone.ghost.setAttribute("d", this.cone(this.moved(cone.tool[0]), this.moved(cone.tool[1])));
      }
      const f = times * 1e-6;
      this.bars.forEach((path, i) => {
        const b = at.bodies[i];
        const middle = [0, 1, 2].map((k) => b[k] + f * b[3 + k]);
        path.setAttribute("d", this.whiskers(middle, [[1, 0, 0], [0, 1, 0], [0, 0, 1]], [0, 1, 2].map((k) => f * b[6 + k])));
      });
    }

    // the outline of a block as it is seen: the hull of its corners
    around(spots) {
      const sorted = [...spots].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
      const half = (list) => list.reduce((out, p) => {
        while (out.length > 1) {
          const [a, b] = [out[out.length - 2], out[out.length - 1]];
          if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
          out.pop();
        }
        return [...out, p];
      }, []);
      const hull = [...half(sorted).slice(0, -1), ...half([...sorted].reverse()).slice(0, -1)];
      return `M${hull.map((p) => p.map(n1).join(",")).join("L")}z`;
    }

    whiskers(middle, directions, reaches) {
      return directions.map((direction, k) => {
        const [a, b] = [1, -1].map((s) => this.project(mix(middle, 1, direction, s * reaches[k])));
        const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
        if (size < 3) return "";
        const [ox, oy] = [(-(b[1] - a[1]) / size) * 3.5, ((b[0] - a[0]) / size) * 3.5];
        const tick = ([x, y]) => `M${n1(x + ox)},${n1(y + oy)}L${n1(x - ox)},${n1(y - oy)}`;
        return `M${a.map(n1)}L${b.map(n1)}${tick(a)}${tick(b)}`;
      }).join("");
    }

    drawError() {
      const { at, times, tool } = this;
      tool.replaceChildren();
      const error = at.error;
      if (!error || !times || !this.show.expected) return;
      const f = times * 1e-6;
      make("path", tool, { class: "limit-ring", d: this.limitLine(error, f) });
      let tip = error.at;
      error.directions.forEach((direction, k) => { tip = mix(tip, 1, direction, f * error.mean[k]); });
      const [a, b] = [this.project(error.at), this.project(tip)];
      const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
      const bars = this.whiskers(tip, error.directions, error.reach.map((s) => f * s));
      make("path", tool, { class: "error-bars", d: bars });
      if (size > 2) {
        const [ux, uy] = [(b[0] - a[0]) / size, (b[1] - a[1]) / size];
        const head = [1, -1].map((s) => `M${b.map(n1)}L${n1(b[0] - 9 * ux + s * 4.5 * uy)},${n1(b[1] - 9 * uy - s * 4.5 * ux)}`);
        make("path", tool, { class: "error-arrow", d: `M${a.map(n1)}L${b.map(n1)}${head.join("")}` });
      } else make("circle", tool, { class: "error-arrow", cx: n1(b[0]), cy: n1(b[1]), r: 2.5 });
    }

    limitLine(error, f) {
      const reach = f * error.limit;
      const { directions } = error;
      if (directions.length === 1) {
        return [1, -1].map((s) => {
          const [x, y] = this.project(mix(error.at, 1, directions[0], s * reach));
          const [x0, y0] = this.project(error.at);
          const size = Math.hypot(x - x0, y - y0) || 1;
          const [ox, oy] = [(-(y - y0) / size) * 12, ((x - x0) / size) * 12];
          return `M${n1(x + ox)},${n1(y + oy)}L${n1(x - ox)},${n1(y - oy)}`;
        }).join("");
      }
      if (directions.length === 3) {
        const [x, y] = this.project(error.at);
        const r = reach * this.scale;
        return `M${n1(x - r)},${n1(y)}a${n1(r)},${n1(r)} 0 1,0 ${n1(2 * r)},0a${n1(r)},${n1(r)} 0 1,0 ${n1(-2 * r)},0`;
      }
      let d = "";
      for (let k = 0; k <= 48; k += 1) {
        const a = (k * Math.PI) / 24;
        const p = mix(error.at, 1, mix(directions[0], reach * Math.cos(a), directions[1], reach * Math.sin(a)), 1);
        d += `${k ? "L" : "M"}${this.project(p).map(n1)}`;
      }
      return d;
    }

    // numbers in balloons at both sides, with a leader to the body, in the order in which they lie there
    drawNumbers(flat) {
      this.numbers.classList.toggle("gone", !this.show.numbers);
      const sides = [[], []];
      this.balloons.forEach((balloon, number) => {
        const corners = this.lines.bodies[number].plates.flat();
        if (!corners.length) { balloon.node.parentNode.setAttribute("display", "none"); return; }
        const spots = corners.map((i) => flat[i]);
        const spot = [0, 1].map((k) => spots.reduce((sum, p) => sum + p[k], 0) / spots.length);
        const left = spot[0] < this.width / 2;
        const edge = spots.reduce((best, p) => ((left ? p[0] < best[0] : p[0] > best[0]) ? p : best), spots[0]);
        const anchor = mix([...spot, 0], 0.12, [...edge, 0], 0.88);
        sides[left ? 0 : 1].push({ balloon, anchor, y: anchor[1] });
      });
      // neither side may be crowded while the other is empty
      while (sides[0].length > sides[1].length + 1) sides[1].push(this.nearest(sides[0], 1));
      while (sides[1].length > sides[0].length + 1) sides[0].push(this.nearest(sides[1], -1));
      sides.forEach((side, which) => {
        side.sort((a, b) => a.y - b.y);
        const gap = Math.min(34, (this.height - 110) / Math.max(side.length, 1));
        let last = 10;
        side.forEach((one, i) => {
          one.place = Math.max(one.y - 24, last + gap);
          last = one.place;
          one.room = this.height - 84 - (side.length - 1 - i) * gap;
        });
        for (const one of side.reverse()) {
          one.place = Math.min(one.place, one.room);
          const x = which ? this.width - 22 : 22;
          const { leader, dotAt, ring, text } = one.balloon;
          const foot = x + (which ? -13 : 13);
          leader.setAttribute("d", `M${foot},${n1(one.place)}L${n1(one.anchor[0])},${n1(one.anchor[1])}`);
          for (const [node, cx, cy] of [[dotAt, ...one.anchor], [ring, x, one.place]]) {
            node.setAttribute("cx", n1(cx));
            node.setAttribute("cy", n1(cy));
          }
          text.setAttribute("x", x);
          text.setAttribute("y", n1(one.place + 5));
          one.balloon.spot = [x, one.place];
          const picked = one.balloon.mark.pick === this.at.picked;
          one.balloon.node.classList.toggle("picked", picked);
          one.balloon.node.setAttribute("aria-pressed", String(picked));
        }
      });
    }

    nearest(side, sign) {
      let best = 0;
      side.forEach((one, i) => { if (sign * one.anchor[0] > sign * side[best].anchor[0]) best = i; });
      return side.splice(best, 1)[0];
    }

    drawRules() {
      const { lines, times, height } = this;
      const { words, units } = lines;
      this.stated.textContent = times ? words.stated.replace("{n}", times.toLocaleString("en").replaceAll(",", "\u202f")) : words.off;
      this.stated.setAttribute("x", 14);
      this.stated.setAttribute("y", height - 12);
      this.drawRule(this.lengthRule, 14, height - 52, this.scale, units.length);
      this.motionRule.group.classList.toggle("gone", !times);
      if (times) this.drawRule(this.motionRule, 14, height - 32, this.scale * times, units.error);
      this.drawTriad();
    }

    drawRule({ path, text }, x, y, scale, [name, factor]) {
      if (!(scale > 0)) return; // not laid out yet
      const target = 90 / (scale * factor);
      const power = 10 ** Math.floor(Math.log10(target));
      const step = [5, 2, 1].find((k) => k * power <= target) * power;
      const size = step * scale * factor;
      path.setAttribute("d", `M${x},${y - 4}v8M${x},${y}h${n1(size)}m0,-4v8`);
      text.textContent = `${+step.toPrecision(3)} ${name}`;
      text.setAttribute("x", n1(x + size + 8));
      text.setAttribute("y", y + 4);
    }

    drawTriad() {
      const middle = [this.width - 52, this.height - 46];
      [[1, 0, 0], [0, 1, 0], [0, 0, 1]].forEach((axis, k) => {
        const [dx, dy] = [dot(axis, this.right) * 28, -dot(axis, this.up) * 28];
        const size = Math.hypot(dx, dy);
        const [path, text] = this.triad[k].children;
        this.triad[k].classList.toggle("gone", size < 6);
        const [ux, uy] = size ? [dx / size, dy / size] : [0, 0];
        const [x, y] = [middle[0] + dx, middle[1] + dy];
        const head = [1, -1].map((s) => `M${n1(x)},${n1(y)}L${n1(x - 6 * ux + s * 3 * uy)},${n1(y - 6 * uy - s * 3 * ux)}`);
        path.setAttribute("d", `M${middle[0]},${middle[1]}L${n1(x)},${n1(y)}${head.join("")}`);
        text.setAttribute("x", n1(middle[0] + dx * 1.42));
        text.setAttribute("y", n1(middle[1] + dy * 1.42 + 4));
      });
    }
  };
})();
