// The description: every change of a field is taken and checked at once; what is typed and what was done stays on this
// device until it is saved, so that neither a killed server nor a closed lid loses any of it.

(() => {
  const desk = window.loopwright;
  const DRAFT = "description/draft";
  const TYPED = "description/typed";
  const REST = 350; // milliseconds without a key until what is typed is taken
  const PATIENCE = 6000;
  let kept = null; // the element that carries what the server says
  let number = 0;
  let asked = 0;
  let sentAt = 0;
  let waiting = false;
  let timer = 0;
  let at = null;
  let restored = false;
  const later = new Map(); // path -> how it is to be taken: what was typed, and whether somebody types on

  const page = () => kept?.closest(".region");
  const typedNow = () => { try { return JSON.parse(desk.kept(TYPED) || "{}"); } catch { return {}; } };
  const remember = (path, text) => {
    const all = typedNow();
    if (text === null) delete all[path];
    else all[path] = text;
    desk.keep(TYPED, Object.keys(all).length ? JSON.stringify(all) : "");
  };

  const ask = (act, given) => {
    number += 1;
    asked = number;
    sentAt = performance.now();
    waiting = true;
    desk.act(act, { ...given, sequence: String(number) }, null);
    setTimeout(() => { if (waiting && performance.now() - sentAt >= PATIENCE) { waiting = false; next(); } }, PATIENCE + 50);
  };

  const next = () => {
    if (waiting || !later.size) return;
    const [path, { text, typing }] = later.entries().next().value;
    later.delete(path);
    if (path === "") ask("description text", { text, typing });
    else ask("description set", { of: path, typed: text, typing });
  };

  const sent = new Map(); // path -> what was asked for last, so that leaving a field asks for nothing twice
  const take = (field, typing) => {
    const path = field.dataset.whole ? "" : field.dataset.path;
    clearTimeout(timer);
    if (sent.get(path) === field.value) return;
    sent.set(path, field.value);
    later.set(path, { text: field.value, typing: typing ? "on" : "" });
    next();
  };

  document.addEventListener("input", (event) => {
    const field = event.target;
    if (!field.dataset?.path && !field.dataset?.whole) return;
    const path = field.dataset.whole ? "" : field.dataset.path;
    remember(path, field.value);
    sent.delete(path);
    if (field.nodeName === "SELECT") return;
    clearTimeout(timer);
    timer = setTimeout(() => take(field, true), field.dataset.whole ? 2 * REST : REST);
    if (field.dataset.whole) number_lines(field.closest(".numbered"));
  });
  document.addEventListener("change", (event) => {
    const field = event.target;
    if (field.nodeName === "SELECT") sent.delete(field.dataset.path);
    if (field.dataset?.path || field.dataset?.whole) take(field, field.nodeName !== "SELECT");
  });
  // nobody sends a form by Enter in a field of the description; it takes what is typed
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key === "Enter" && field.dataset?.path && field.nodeName === "INPUT") { event.preventDefault(); take(field, true); }
    if (!kept?.isConnected || !(event.ctrlKey || event.metaKey)) return;
    if (/^(INPUT|TEXTAREA|SELECT)$/.test(field.nodeName)) return;
    const name = event.key === "z" ? (event.shiftKey ? "redo" : "undo") : event.key === "y" ? "redo" : null;
    const button = name && page()?.querySelector(`[data-act="description ${name}"]`);
    if (button && !button.disabled) { event.preventDefault(); button.click(); }
  });

  const read = () => {
    if (!kept?.isConnected) return;
    const { dataset } = kept;
    if (dataset.kept !== undefined && restored) desk.keep(DRAFT, dataset.kept || "");
    if (waiting && Number(dataset.sequence) >= asked) {
      waiting = false;
      page().dataset.roundTrip = String(Math.round(performance.now() - sentAt));
      page().dataset.answered = dataset.sequence;
      settle();
      next();
    }
    if (at !== null && at !== dataset.at + "/" + dataset.show) arrive();
    at = dataset.at + "/" + dataset.show;
    mark_lines();
  };

  // what the server has taken need not be kept as typed any longer
  const settle = () => {
    const refused = kept.dataset.refused;
    const all = typedNow();
    for (const path of Object.keys(all)) {
      if (path !== refused && !later.has(path)) delete all[path];
    }
    desk.keep(TYPED, Object.keys(all).length ? JSON.stringify(all) : "");
  };

  const arrive = () => {
    const address = new URL(location.href);
    if (!address.pathname.startsWith("/description")) return;
    if (kept.dataset.at) address.searchParams.set("at", kept.dataset.at);
    else address.searchParams.delete("at");
    if (kept.dataset.show && kept.dataset.show !== "fields") address.searchParams.set("show", kept.dataset.show);
    else address.searchParams.delete("show");
    if (address.href !== location.href) history.replaceState(history.state, "", address);
    const heading = document.getElementById("description-entry");
    if (heading && !heading.contains(document.activeElement) && document.activeElement?.closest?.(".description-outline, .description-form, .description-tools")) {
      heading.focus({ preventScroll: false });
    }
    if (matchMedia("(max-width: 900px)").matches) heading?.scrollIntoView({ block: "start" });
  };

  const seen = new WeakSet(); // a page that is drawn anew calls for its scripts anew
  desk.way("description", (element) => {
    if (seen.has(element)) { read(); return; }
    seen.add(element);
    kept = element;
    at = null;
    new MutationObserver(read).observe(element, { attributes: true });
    const draft = desk.kept(DRAFT);
    const typed = typedNow();
    restored = true;
    if (draft && !element.dataset.kept) ask("description restore", { kept: draft });
    else read();
    // typed before the line was cut, and never taken
    for (const [path, text] of Object.entries(typed)) later.set(path, { text, typing: "on" });
    next();
    at = element.dataset.at + "/" + element.dataset.show;
    if (element.dataset.at && matchMedia("(max-width: 900px)").matches) document.getElementById("description-entry")?.scrollIntoView({ block: "start" });
  });

  // --- the text with its line numbers

  const number_lines = (box) => {
    if (!box) return;
    const area = box.querySelector("textarea");
    const gutter = box.querySelector(".gutter");
    const wrong = new Set((box.dataset.lines || "").split(",").filter(Boolean).map(Number));
    const count = area.value.split("\n").length;
    const stamp = `${count}/${box.dataset.lines}`;
    if (gutter.dataset.stamp === stamp) return;
    gutter.dataset.stamp = stamp;
    const rows = [];
    for (let n = 1; n <= count; n += 1) {
      const row = document.createElement(wrong.has(n) ? "b" : "span");
      row.textContent = (wrong.has(n) ? "\u25B6 " : "") + n + "\n";
      rows.push(row);
    }
    gutter.replaceChildren(...rows);
    gutter.scrollTop = area.scrollTop;
  };
  const mark_lines = () => number_lines(document.querySelector(".numbered"));

  desk.way("numbered", (box) => {
    if (seen.has(box)) { number_lines(box); return; }
    seen.add(box);
    const area = box.querySelector("textarea");
    area.addEventListener("scroll", () => { box.querySelector(".gutter").scrollTop = area.scrollTop; });
    number_lines(box);
    if (desk.wantedLine) { desk.line(desk.wantedLine); desk.wantedLine = 0; }
  });

  // the cursor to a line
  desk.line = (line) => {
    const area = document.querySelector(".numbered textarea");
    if (!area) { desk.wantedLine = line; return; }
    const lines = area.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
    area.focus();
    area.setSelectionRange(start, start + (lines[line - 1] || "").length);
    const height = parseFloat(getComputedStyle(area).lineHeight);
    area.scrollTop = Math.max(0, (line - 6) * height);
  };
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-line]");
    if (button && !button.dataset.act) desk.line(Number(button.dataset.line));
  });
})();
