// The bench: one value after the other, nothing typed is ever lost, and every reading goes into the book once.

(() => {
  const desk = window.loopwright;
  const HEADERS = { "Content-Type": "application/json", "X-Loopwright": "1" };
  const PATIENCE = 1500; // ms after which the next thing is offered although no answer came
  const LATE = 120000; // ms after which a reading says itself when it was taken
  const book = () => document.querySelector("[data-book]")?.dataset.book || "";
  const read = (name, otherwise) => {
    try { return JSON.parse(desk.kept(name)) ?? otherwise; } catch { return otherwise; }
  };
  const keep = (name, value) => {
    const text = value === null ? "" : JSON.stringify(value);
    desk.keep(name, text);
    return (desk.kept(name) ?? "") === text;
  };

  // --- readings that are not in the book yet: each under its own name, so that two windows never overwrite each other
  const box = {
    root: () => "loopwright/" + book() + "/bench/item/",
    all() {
      const found = [];
      try {
        for (let i = 0; i < localStorage.length; i++) {
          const name = localStorage.key(i);
          if (name.startsWith(box.root())) found.push(JSON.parse(localStorage.getItem(name)));
        }
      } catch { /* a browser that stores nothing */ }
      return found.sort((a, b) => a.at - b.at);
    },
    get: (key) => read("bench/item/" + key, null),
    put(item) { const held = keep("bench/item/" + item.key, item); shown(); return held; },
    drop(key) { keep("bench/item/" + key, null); shown(); },
  };

  // one window sends what it was given; what another one left behind is taken over
  let tab = "";
  try { tab = sessionStorage.getItem("loopwright/tab") || desk.key(); sessionStorage.setItem("loopwright/tab", tab); } catch { tab = desk.key(); }
  const mine = (item) => item.tab === tab || Date.now() - item.touched > 15000;

  const post = async (path, body) => {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), 20000);
    try {
      const answer = await fetch(path, { method: "POST", headers: HEADERS, body: JSON.stringify(body), signal: stop.signal });
      return { status: answer.status, data: await answer.json().catch(() => ({})) };
    } catch {
      return { status: 0, data: {} };
    } finally { clearTimeout(timer); }
  };

  const listeners = new Set();
  const shown = () => { for (const tell of listeners) tell(); };
  let sending = false, pause = 0, timer = 0, faults = 0;
  const later = () => {
    pause = Math.min(8000, pause ? pause * 2 : 400);
    clearTimeout(timer);
    timer = setTimeout(work, pause);
  };
  const work = async () => {
    if (sending) return;
    sending = true;
    try {
      for (;;) {
        const item = box.all().find((one) => one.state === "waiting" && mine(one));
        if (!item) break;
        item.tab = tab;
        item.touched = Date.now();
        keep("bench/item/" + item.key, item);
        if (Date.now() - item.at > LATE && !item.body.taken) item.body.taken = new Date(item.at).toISOString().slice(0, 19) + "Z";
        const { status, data } = await post("/api/readings?page=true", item.body);
        if (status === 0 || status === 401 || status === 429 || status === 503 || (status >= 500 && ++faults < 4)) { later(); return; }
        pause = faults = 0;
        settle(item, data.page?.status ?? status, data);
      }
    } finally { sending = false; }
  };
  const settle = (item, status, data) => {
    if (status === 200 || status === 201) box.drop(item.key);
    else {
      item.state = status === 409 && data.asked ? "asks" : "refused";
      item.answer = { page: data.page?.full || "", problems: (data.problems || []).map((one) => one.what + "; " + one.remedy), meant: (data.asked?.meant || []).filter((one) => one.send) };
      box.put(item);
    }
    ui?.answered(item, status, data);
  };
  const wake = () => { pause = 0; clearTimeout(timer); work(); };
  addEventListener("online", wake);
  addEventListener("focus", wake);
  addEventListener("storage", shown);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) wake(); });
  setInterval(() => { if (box.all().some((item) => item.state === "waiting")) work(); }, 5000);
  const hear = () => { if (window.socket) window.socket.on("connect", wake); else setTimeout(hear, 300); };
  hear();

  // --- the sheet
  let ui = null;
  const say = (words, name, values = {}) => (words[name] ?? name).replace(/\{(\w+)\}/g, (_, key) => values[key] ?? "");
  const plainText = (text) => text.replace(/,(?=\d)/, ".");

  class Sheet {
    constructor(root) {
      this.root = root;
      this.words = JSON.parse(root.dataset.words);
      this.plans = JSON.parse(root.dataset.plans);
      this.run = "bench/run/" + root.dataset.run;
      this.slots = {};
      for (const one of root.querySelectorAll("[data-slot]")) this.slots[one.dataset.slot] = one;
      this.settings = read("bench/settings", { repeats: 1 });
      const past = read(this.run, { done: {}, at: 0 });
      this.done = Date.now() - past.at < 12 * 3600e3 ? past.done : {};
      for (const item of box.all()) this.done[item.id] ??= "";
      keep("bench/words", { unsent: this.words.unsent });
      this.listen();
      this.begin(this.first());
    }

    say(name, values) { return say(this.words, name, values); }

    // which thing to begin with: one that was begun, else the first that is not read
    first() {
      const begun = this.plans.map((plan, i) => [read("bench/draft/" + plan.id, null)?.at || 0, i]).sort((a, b) => b[0] - a[0])[0];
      if (begun && begun[0]) return begun[1];
      const open = this.plans.findIndex((plan) => !(plan.id in this.done));
      return open < 0 ? this.plans.length : open;
    }

    begin(at) {
      this.at = at;
      this.plan = this.plans[at] || null;
      this.bad = {};
      this.wrong("");
      this.question(null);
      this.mode = "typing";
      if (!this.plan) { this.draw(); this.focus(); this.refill(); return; }
      const kept = read("bench/draft/" + this.plan.id, null);
      this.draft = kept && !box.get(kept.key) ? kept : this.fresh();
      this.slots.value.value = this.draft.now || "";
      this.show();
    }

    fresh() {
      const live = document.getElementById("bench-live");
      const state = this.plan.corrects ? this.plan.state : Number(live?.dataset.state || this.plan.state);
      return { key: desk.key(), seen: this.plan.seen, state, values: [], left: [], now: "", place: 0, repeat: 0, at: 0, deviations: this.plan.deviations };
    }

    get repeats() { return this.plan.fixed ? this.plan.repeats : Math.max(this.settings.repeats || 1, this.plan.repeats || 1); }
    get gauge() { return read("bench/gauge/" + this.plan.of, this.plan.gauge); }
    get unit() { return this.draft.deviations && this.plan.small ? this.plan.small : this.plan.unit; }

    save() {
      const empty = !this.draft.now && !this.draft.values.flat().length && !this.draft.left.length;
      this.draft.at = Date.now();
      const held = keep("bench/draft/" + this.plan.id, empty ? null : this.draft);
      if (!held && !empty) this.wrong(this.say("full"));
    }

    // typing

    enter() {
      const field = this.slots.value;
      let text = field.value.trim();
      if (this.settings.comma) text = plainText(text);
      if (this.mode === "waiting") { this.early = [...(this.early || []), text].filter(Boolean); field.value = ""; return; }
      if (this.mode === "asking") return this.answer(text);
      if (!this.plan) return;
      if (!text) text = this.plan.places[this.draft.place].was[this.draft.repeat] || "";
      if (!text) return;
      this.take(text);
    }

    take(text) {
      const { place, repeat } = this.draft;
      (this.draft.values[place] ||= [])[repeat] = text;
      this.draft.now = this.slots.value.value = "";
      delete this.bad[place + "/" + repeat];
      this.wrong("");
      const whole = this.plan.places.length * this.repeats;
      if (whole > 1) this.check(place, repeat, text);
      if (this.forward()) { this.save(); this.show(); } else this.finish();
    }

    // to the next value that is not typed; false where all are
    forward() {
      for (let place = 0; place < this.plan.places.length; place++) {
        if (this.draft.left.includes(place)) continue;
        for (let repeat = 0; repeat < this.repeats; repeat++) {
          if (!this.draft.values[place]?.[repeat]) { this.draft.place = place; this.draft.repeat = repeat; return true; }
        }
      }
      return false;
    }

    // looks whether a value can be read while the gauge is still in the hand; nobody waits for it
    async check(place, repeat, text) {
      const key = this.draft.key, { of, against, item } = this.plan;
      const { status, data } = await post("/api/readings/value?page=true", { of, against, item, text, unit: this.unit });
      if (this.draft?.key !== key || this.draft.values[place]?.[repeat] !== text || status !== 200 || !data.problems?.length) return;
      this.bad[place + "/" + repeat] = data.problems[0];
      if (!this.slots.value.value) this.to(place, repeat);
      this.show();
    }

    to(place, repeat) {
      Object.assign(this.draft, { place, repeat });
      this.slots.value.value = this.draft.now = this.draft.values[place]?.[repeat] || "";
      const problem = this.bad[place + "/" + repeat];
      this.wrong(problem ? this.say("unread_value", { n: place + 1, what: problem.what + "; " + problem.remedy }) : "");
      this.show();
      this.slots.value.select();
    }

    back() {
      if (this.mode !== "typing" || !this.plan) return;
      let { place, repeat } = this.draft;
      if (--repeat < 0) {
        do place -= 1; while (place >= 0 && this.draft.left.includes(place));
        repeat = this.repeats - 1;
      }
      if (place >= 0) this.to(place, repeat);
    }

    leave() {
      const { place } = this.draft;
      if (this.plan.places.length - this.draft.left.length < 3) return;
      this.draft.left.push(place);
      delete this.draft.values[place];
      this.slots.value.value = this.draft.now = "";
      if (this.forward()) { this.save(); this.show(); } else this.finish();
    }

    skip() {
      if (!this.plan || this.mode === "waiting") return;
      this.save();
      const next = this.plans.findIndex((plan, i) => i > this.at && !(plan.id in this.done));
      this.begin(next < 0 ? this.plans.length : next);
    }

    body() {
      const { plan, draft } = this;
      const places = plan.places.map((_, i) => i).filter((i) => !draft.left.includes(i));
      const settings = this.settings, warm = plan.warm;
      const poses = {};
      if (draft.left.length || plan.corrects) {
        for (const [letter, texts] of Object.entries(plan.positions)) poses[letter] = places.map((i) => texts[i]);
      }
      return {
        of: plan.of, against: plan.against, item: plan.item,
        values: places.map((i) => draft.values[i].slice(0, this.repeats)),
        unit: this.unit, gauge: this.gauge, poses,
        from_nominal: Boolean(draft.deviations && plan.small),
        turned: Boolean(plan.turns && settings.turned), both_directions: Boolean(plan.both && settings.both_directions),
        part_temperature: (warm && settings.part_temperature) || null,
        gauge_temperature: (warm && settings.gauge_temperature) || null,
        note: settings.bench_note || null, state: draft.state, supersedes: plan.corrects,
        key: draft.key, seen: draft.seen, keep: false, book: this.root.dataset.bookUid,
      };
    }

    finish() {
      const bad = Object.keys(this.bad)[0];
      if (bad) return this.to(...bad.split("/").map(Number));
      const item = { key: this.draft.key, at: Date.now(), touched: Date.now(), tab, state: "waiting", body: this.body(), title: this.plan.title, id: this.plan.id, draft: this.draft };
      if (!box.put(item)) { this.wrong(this.say("full")); }
      keep("bench/draft/" + this.plan.id, null);
      if (this.settings.bench_note) this.set("bench_note", "");
      this.send(item);
    }

    send(item) {
      this.mode = "waiting";
      this.early = [];
      this.pending = item.key;
      this.slots.value.value = "";
      this.question(null);
      this.show();
      clearTimeout(this.patience);
      this.patience = setTimeout(() => { if (this.pending === item.key) this.onward(item, ""); }, PATIENCE);
      wake();
    }

    // what came of a reading, this one or one that was kept for a while
    answered(item, status, data) {
      const current = this.pending === item.key;
      if (current) clearTimeout(this.patience);
      if (status === 200 || status === 201) {
        this.result(data.page?.full || "", data.page?.short || "");
        if (data.page?.line) this.remember(item.id, data.page.line);
        if (current) this.onward(item, data.page?.line || ""); else this.draw();
        this.refill();
      } else if (current) {
        const dropped = this.early || [];
        this.mode = "asking";
        this.item = box.get(item.key) || item;
        const place = status === 422 ? /^values\/(\d+)\/(\d+)$/.exec(data.problems?.[0]?.field || "") : null;
        if (place) return this.reopen(this.item, Number(place[1]), Number(place[2]), data.problems[0]);
        this.question(this.item);
        this.drawRow();
        if (dropped.length) this.wrong(this.say("not_taken", { text: dropped.join(", ") }));
        this.show();
      } else this.drawRow();
      this.waiting();
    }

    onward(item, line) {
      this.pending = null;
      if (line) this.remember(item.id, line); else this.done[item.id] ??= "";
      const early = this.early || [];
      this.early = [];
      const typed = this.slots.value.value;
      const next = this.plans.findIndex((plan, i) => !(plan.id in this.done) && i !== this.at);
      this.begin(next < 0 ? this.plans.length : next);
      if (!this.plan) return;
      if (typed && !this.slots.value.value) { this.draft.now = this.slots.value.value = typed; this.save(); }
      for (const text of early) { if (this.mode === "typing" && this.plan) this.take(text); }
    }

    remember(id, line) {
      this.done[id] = line;
      keep(this.run, { done: this.done, at: Date.now() });
    }

    // what is worth reading after this one may be something else by now
    refill() {
      if (this.plan && !this.plan.offered) return;
      clearTimeout(this.refilling);
      this.refilling = setTimeout(() => this.fill(), this.plan ? 500 : 0);
    }

    async fill() {
      try {
        const answer = await fetch("/api/bench/next", { headers: HEADERS });
        if (!answer.ok) return;
        const fresh = (await answer.json()).filter((plan) => !this.plans.some((one, i) => i <= this.at && one.id === plan.id && !(one.id in this.done)));
        const kept = this.plans.filter((plan, i) => i <= this.at || !plan.offered || plan.id in this.done);
        const known = new Set(kept.map((plan) => plan.id));
        this.plans = [...kept, ...fresh.filter((plan) => !known.has(plan.id))];
        if (!this.plan && this.plans.some((plan) => !(plan.id in this.done))) this.begin(this.first()); else this.draw();
      } catch { /* no connection: the row stays as it is */ }
    }

    // a reading that is asked about

    answer(text) {
      if (!text) return;
      const letter = text.toLowerCase();
      if (letter === "k") return this.decide("keep");
      if (letter === "r") return this.decide("again");
      const place = letter.length === 1 ? letter.charCodeAt(0) - 97 : -1;
      const button = [...this.slots.question.querySelectorAll("[data-take]")].find((one) => Number(one.dataset.take) === place);
      if (button) return this.decide("take", button);
      if (/\d/.test(text) && this.plan.places.length === 1) {
        const item = this.item;
        box.drop(item.key);
        this.draft = { ...item.draft, key: desk.key(), values: [], now: "", place: 0, repeat: 0 };
        this.mode = "typing";
        this.pending = null;
        this.question(null);
        return this.take(text);
      }
      this.slots.value.select();
    }

    decide(what, button, item = this.item) {
      if (!item) return;
      if (what === "drop") { box.drop(item.key); if (item.key === this.pending) this.again(item, []); return this.waiting(); }
      if (what === "again") return this.again(item, item.draft.values);
      if (what === "keep") item.body.keep = true;
      if (what === "take") {
        const one = item.answer.meant.find((_, i) => button.parentElement.children[i] === button);
        Object.assign(item.body, one.send);
      }
      Object.assign(item, { state: "waiting", answer: null });
      box.put(item);
      if (item.key === this.pending) this.send(item); else wake();
      this.waiting();
    }

    // the sheet of a reading once more, with what was typed in it
    again(item, values) {
      box.drop(item.key);
      const at = this.plans.findIndex((plan) => plan.id === item.id);
      if (at < 0) return;
      const places = this.plans[at].places.length;
      const draft = { ...item.draft, key: desk.key(), values: places > 1 ? values : [], now: "", place: 0, repeat: 0, at: Date.now() };
      keep("bench/draft/" + item.id, draft);
      delete this.done[item.id];
      this.pending = null;
      this.begin(at);
      if (places > 1) this.to(0, 0);
    }

    reopen(item, place, repeat, problem) {
      const draft = { ...item.draft, now: "", place, repeat, at: Date.now() };
      box.drop(item.key);
      keep("bench/draft/" + item.id, draft);
      this.pending = null;
      this.begin(this.plans.findIndex((plan) => plan.id === item.id));
      const places = this.plan.places.map((_, i) => i).filter((i) => !draft.left.includes(i));
      this.bad[places[place] + "/" + repeat] = problem;
      this.to(places[place], repeat);
      this.waiting();
    }

    // showing

    wrong(text) {
      const line = this.slots.wrong;
      line.textContent = text;
      line.hidden = !text;
      if (text) this.slots.value.setAttribute("aria-invalid", "true"); else this.slots.value.removeAttribute("aria-invalid");
    }

    question(item) {
      this.root.classList.toggle("asking", Boolean(item));
      this.slots.question.replaceChildren(...(item ? this.asked(item) : []));
      // on a small screen it would stand below what can be seen
      if (item && item !== this.item) requestAnimationFrame(() => this.slots.question.scrollIntoView({ block: "nearest" }));
      this.item = item;
    }

    // what the server says of a reading that is not entered; in our own words where it brought no page
    asked(item) {
      const about = document.createElement("div");
      if (!item.answer) return [];
      about.innerHTML = item.answer.page;
      if (item.answer.page) return [...about.children];
      about.className = "asked";
      about.append(this.make("p", item.answer.problems.join(" ")));
      for (const [what, word] of [["again", "correct_it"], ["drop", "throw_away"]]) {
        const button = this.make("button", this.say(word));
        button.type = "button";
        button.dataset.answer = what;
        about.append(button, " ");
      }
      return [about];
    }

    result(markup, short) {
      this.slots.last.innerHTML = short;
      this.slots.last.hidden = !short;
      this.slots.answered.hidden = !markup;
      this.slots.result.innerHTML = markup;
      desk.arrived(this.slots.result);
    }

    show() { this.draw(); this.focus(); }

    focus() {
      const now = document.activeElement;
      if (now && now !== document.body && now !== this.slots.value && /^(INPUT|SELECT|TEXTAREA)$/.test(now.nodeName)) return;
      if (this.plan) this.slots.value.focus({ preventScroll: true });
      // not on a link: the second Enter of a gauge would follow it
      else this.slots.title.focus({ preventScroll: true });
    }

    draw() {
      const { plan, slots } = this;
      const form = this.root.querySelector(".bench-form");
      form.classList.toggle("over", !plan);
      slots.over.hidden = Boolean(plan);
      slots.sheet.classList.toggle("over", !plan);
      form.classList.toggle("entering", this.mode === "waiting");
      const asked = this.plans.filter((one) => !one.offered).length;
      const offered = plan?.offered;
      slots.count.textContent = !plan ? "" : offered ? this.say("offered") : asked > 1 ? this.say("count", { n: Math.min(this.at + 1, asked), all: asked }) : "";
      slots.before.textContent = plan ? plan.before : "";
      slots.title.textContent = plan ? plan.title : this.say("all_done");
      slots.about.replaceChildren(...(plan ? plan.about : [this.say("all_done_note")]).map((text) => this.make("li", text)));
      if (plan) this.drawField();
      this.drawRow();
      this.drawHow();
      this.waiting();
    }

    drawField() {
      const { plan, draft, slots } = this;
      const many = plan.places.length > 1, several = this.repeats > 1;
      const place = plan.places[draft.place].name;
      const number = several ? this.say("again_place", { place, n: draft.repeat + 1, all: this.repeats }) : place;
      slots.place.textContent = this.mode === "waiting" ? this.say("entering") : this.mode === "asking" ? this.say("reading_again", { place }) : number;
      slots.unit.textContent = this.unit;
      const was = plan.places[draft.place].was[draft.repeat];
      slots.value.placeholder = was && this.mode === "typing" ? this.say("was", { text: was }) : "";
      slots.leavekey.hidden = !many || this.mode !== "typing";
      slots.typed.hidden = !(many || several) || this.mode !== "typing";
      if (slots.typed.hidden) return;
      slots.values.replaceChildren(...plan.places.flatMap((one, i) => Array.from({ length: this.repeats }, (_, j) => this.value(one, i, j))));
    }

    value(one, place, repeat) {
      const text = this.draft.values[place]?.[repeat];
      const left = this.draft.left.includes(place);
      const here = place === this.draft.place && repeat === this.draft.repeat;
      const line = document.createElement("li");
      const button = this.make("button", "");
      button.type = "button";
      button.dataset.place = place;
      button.dataset.repeat = repeat;
      if (here) button.setAttribute("aria-current", "true");
      const bad = this.bad[place + "/" + repeat];
      button.append(this.make("span", one.name), this.make("b", left ? this.say("skipped") : (text ?? "") + (bad ? " ⚠" : "")));
      if (bad) button.classList.add("bad");
      line.append(button);
      return line;
    }

    drawRow() {
      const held = new Map(box.all().map((item) => [item.id, item.state]));
      const rows = this.plans.map((plan, i) => {
        const line = document.createElement("li");
        const button = this.make("button", "");
        button.type = "button";
        button.dataset.plan = i;
        if (i === this.at) button.setAttribute("aria-current", "true");
        const done = this.done[plan.id];
        const state = this.make("span", "");
        state.className = "state";
        if (done) state.innerHTML = done;
        else if (plan.id in this.done) state.textContent = this.say("unsent_" + (held.get(plan.id) || "waiting"));
        else if (read("bench/draft/" + plan.id, null)) state.textContent = this.say("begun");
        else state.textContent = plan.time || "";
        button.append(this.make("span", plan.title), state);
        line.append(button);
        if (plan.id in this.done) line.className = "done";
        return line;
      });
      this.slots.run.replaceChildren(...rows);
      this.slots.row.hidden = rows.length < 2;
    }

    drawHow() {
      const { plan, slots, settings } = this;
      slots.how.hidden = !plan;
      if (!plan) return;
      const gauge = this.gauge;
      if ([...slots.gauge.options].map((one) => one.value).join() !== plan.gauges.join()) {
        slots.gauge.replaceChildren(...plan.gauges.map((name) => new Option(name, name)));
      }
      if (gauge) slots.gauge.value = gauge;
      slots.repeats.textContent = this.repeats;
      slots.repeating.hidden = plan.fixed;
      slots.warm.hidden = slots.warm2.hidden = !plan.warm;
      slots["tick-turned"].hidden = !plan.turns;
      slots["tick-both_directions"].hidden = !plan.both;
      slots["tick-deviations"].hidden = !plan.small;
      for (const name of ["turned", "both_directions", "comma"]) this.box(name).checked = Boolean(settings[name]);
      this.box("deviations").checked = Boolean(this.draft.deviations);
      const said = [gauge ? this.say("with", { gauge, times: this.repeats > 1 ? this.say("times", { n: this.repeats }) : this.say("once") }) : this.say("with_none")];
      if (this.draft.deviations && plan.small) said.push(this.say("deviation"));
      if (plan.warm && settings.part_temperature) said.push(this.say("part_at", { temperature: settings.part_temperature + " degC" }));
      if (plan.warm && settings.gauge_temperature) said.push(this.say("gauge_at", { temperature: settings.gauge_temperature + " degC" }));
      if (plan.turns && settings.turned) said.push(this.say("turned"));
      if (plan.both && settings.both_directions) said.push(this.say("both"));
      slots.how.textContent = said.join(" · ");
    }

    box(name) { return this.slots["tick-" + name].querySelector("input"); }

    // what is not in the book yet
    waiting() {
      const items = box.all().filter((item) => item.key !== this.pending || Date.now() - item.at > PATIENCE);
      const others = items.filter((item) => item.key !== this.pending || item.state === "waiting");
      this.slots.kept.hidden = !others.length;
      this.slots.unsent.textContent = this.say("unsent", { n: others.length });
      const held = this.slots.waiting;
      const lines = others.map((item) => {
        const line = document.createElement("li");
        line.dataset.key = item.key;
        const text = item.body.values.map((repeats) => repeats.join(", ")).join(" · ");
        line.append(this.make("b", item.title), " ", this.make("span", text + " " + (item.body.unit || "")), " ", this.make("span", this.say("unsent_" + item.state)));
        if (item.state !== "waiting") {
          const about = document.createElement("div");
          about.append(...this.asked(item));
          line.append(about);
        }
        return line;
      });
      const same = held.children.length === lines.length && lines.every((line, i) => line.isEqualNode(held.children[i]));
      if (!same) held.replaceChildren(...lines);
    }

    make(name, text) {
      const element = document.createElement(name);
      element.textContent = text;
      return element;
    }

    // hearing

    set(name, value) {
      this.settings[name] = value;
      keep("bench/settings", this.settings);
      const field = this.root.querySelector(`[name="${name}"]`);
      if (field && field.type !== "checkbox" && field.value !== value) field.value = value;
    }

    listen() {
      const { root, slots } = this;
      for (const name of ["part_temperature", "gauge_temperature", "bench_note"]) {
        const field = root.querySelector(`[name="${name}"]`);
        field.value = this.settings[name] || "";
        field.addEventListener("input", () => { this.set(name, field.value.trim()); this.drawHow(); });
      }
      root.querySelector("form").addEventListener("submit", (event) => { event.preventDefault(); this.enter(); });
      slots.value.addEventListener("input", () => {
        if (!this.plan || this.mode !== "typing") return;
        this.draft.now = slots.value.value;
        this.wrong("");
        this.save();
      });
      root.addEventListener("click", (event) => this.clicked(event));
      root.addEventListener("change", (event) => this.changed(event));
      slots.value.addEventListener("keydown", (event) => this.pressed(event));
      this.pad(Boolean(this.settings.pad));
      this.redirect = (event) => this.anywhere(event);
      document.addEventListener("keydown", this.redirect);
      this.heard = () => this.waiting();
      listeners.add(this.heard);
    }

    close() {
      clearTimeout(this.patience);
      document.removeEventListener("keydown", this.redirect);
      listeners.delete(this.heard);
    }

    clicked(event) {
      const button = event.target.closest("button");
      if (!button) return;
      const { plan, place, repeat, answer } = button.dataset;
      if (answer) {
        const line = button.closest("[data-key]");
        this.decide(answer, button, line ? box.get(line.dataset.key) : this.item);
      } else if (plan !== undefined) {
        if (this.mode === "typing" && this.plan) this.save();
        if (this.mode !== "waiting") { delete this.done[this.plans[plan].id]; this.begin(Number(plan)); }
      } else if (place !== undefined) this.to(Number(place), Number(repeat));
      else if (button.dataset.do) this.key(button.dataset.do, button);
      else return;
      if (!/^(fewer|more)$/.test(button.dataset.do || "")) this.focus();
    }

    key(what, button) {
      const field = this.slots.value;
      const typed = (text) => { field.value = text; field.dispatchEvent(new Event("input", { bubbles: true })); };
      if (what === "back") this.back();
      else if (what === "skip") this.skip();
      else if (what === "leave") this.leave();
      else if (what === "sign") typed(/^[-−]/.test(field.value) ? field.value.slice(1) : "-" + field.value.replace(/^\+/, ""));
      else if (what === "figure") typed(button.dataset.figure === "⌫" ? field.value.slice(0, -1) : field.value + button.dataset.figure);
      else if (what === "pad") { this.set("pad", !this.settings.pad); this.pad(this.settings.pad); }
      else if (what === "fewer" || what === "more") {
        this.set("repeats", Math.min(20, Math.max(1, (this.settings.repeats || 1) + (what === "more" ? 1 : -1))));
        if (this.plan && this.mode === "typing") { this.forward(); this.draw(); }
      }
    }

    // figures on the screen, and then no keyboard of the tablet over them
    pad(open) {
      this.slots.pad.hidden = !open;
      this.slots.value.inputMode = open ? "none" : "decimal";
      this.slots.padkey.textContent = this.say(open ? "pad_hide" : "pad_show");
      this.slots.padkey.setAttribute("aria-expanded", String(Boolean(open)));
    }

    changed(event) {
      const { name, checked } = event.target;
      if (event.target === this.slots.gauge && this.plan) keep("bench/gauge/" + this.plan.of, event.target.value);
      else if (name === "bench-deviations" && this.plan) { this.draft.deviations = checked; this.save(); }
      else if (name?.startsWith("bench-")) this.set(name.slice(6), checked);
      else return;
      this.draw();
    }

    pressed(event) {
      if (event.key === "ArrowUp") { event.preventDefault(); this.back(); }
      else if (event.key === "ArrowDown") { event.preventDefault(); if (this.slots.value.value) this.enter(); else this.skip(); }
      else if (event.key === "Tab" && this.burst() && this.slots.value.value) { event.preventDefault(); this.enter(); }
      if (event.key.length === 1) this.times = [...(this.times || []).slice(-3), event.timeStamp];
    }

    // a gauge that types ends with Enter or Tab, and is quicker than any hand
    burst() {
      const times = this.times || [];
      return times.length > 2 && times.at(-1) - times[0] < 30 * times.length;
    }

    // a gauge types wherever the focus is: its figures belong in the field
    anywhere(event) {
      if (event.ctrlKey || event.metaKey || event.altKey || !this.plan || !document.contains(this.root)) return;
      if (/^(INPUT|TEXTAREA|SELECT)$/.test(event.target.nodeName)) return;
      if (/^[0-9.,+\-−]$/.test(event.key)) this.slots.value.focus({ preventScroll: true });
    }
  }

  desk.way("bench", (root) => {
    ui?.close();
    ui = new Sheet(root);
    wake();
  });

  // away from the bench: readings that are still kept here are said at the foot of the page
  const bar = () => {
    const here = document.querySelector('[data-way="bench"]');
    const count = here ? 0 : box.all().filter((item) => item.state !== "waiting" || Date.now() - item.at > 3000).length;
    let line = document.getElementById("bench-bar");
    if (!count) { line?.remove(); return; }
    const words = read("bench/words", null);
    if (!words) return;
    if (!line) {
      line = document.createElement("a");
      line.id = "bench-bar";
      document.querySelector("main")?.before(line);
    }
    const { of, item, against } = box.all()[0].body;
    line.href = "/bench?" + new URLSearchParams(Object.entries({ of, item, against }).filter(([, value]) => value));
    line.textContent = say(words, "unsent", { n: count });
  };
  listeners.add(bar);
  setInterval(bar, 2000);
})();
