// What every page needs in the browser: forms that reach the server, typed text that is never lost, the look.

(() => {
  const desk = {};
  window.loopwright = desk;

  // --- kept text: what is typed in a field with data-keep stays on this device until it was saved
  const PREFIX = "loopwright/";
  const slot = (name) => PREFIX + (document.querySelector("[data-book]")?.dataset.book || "") + "/" + name;
  desk.keep = (name, value) => {
    try {
      if (value === "" || value === null) localStorage.removeItem(slot(name));
      else localStorage.setItem(slot(name), value);
    } catch { /* a browser that stores nothing: the page still works */ }
  };
  desk.kept = (name) => {
    try { return localStorage.getItem(slot(name)); } catch { return null; }
  };
  desk.drop = (root) => {
    for (const field of root.querySelectorAll("[data-keep]")) desk.keep(field.dataset.keep, "");
  };

  // a name for an entry, so that sent twice it is entered once; works without a secure context
  desk.key = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
  };

  desk.arrived = (root) => {
    for (const field of root.querySelectorAll("[data-keep]")) {
      if (field.dataset.restored) continue;
      field.dataset.restored = "yes";
      const text = desk.kept(field.dataset.keep);
      if (text === null) continue;
      if (field.type === "checkbox") field.checked = text === "on";
      else if (field.value === field.defaultValue || field.nodeName === "SELECT") field.value = text;
      field.dispatchEvent(new CustomEvent("restored", { bubbles: true }));
    }
    const first = root.querySelector("[autofocus]");
    if (first && !first.dataset.focused && (!document.activeElement || document.activeElement === document.body)) {
      first.dataset.focused = "yes";
      first.focus();
      first.select?.();
    }
    for (const name of Object.keys(desk.ways)) {
      for (const element of root.querySelectorAll(`[data-way="${name}"]`)) {
        if (element.dataset.ready) continue;
        element.dataset.ready = "yes";
        desk.ways[name](element);
      }
    }
  };

  // further scripts put what they do with an element [data-way="name"] here
  desk.ways = {};
  desk.way = (name, act) => {
    desk.ways[name] = act;
    if (document.readyState !== "loading") desk.arrived(document.body);
  };

  document.addEventListener("input", (event) => {
    const field = event.target;
    if (field.dataset?.keep) desk.keep(field.dataset.keep, field.type === "checkbox" ? (field.checked ? "on" : "") : field.value);
  });

  // --- acts: a form or a button says what is wanted; the server answers
  const fields = (form, by) => {
    const out = {};
    for (const [name, value] of new FormData(form, by)) {
      if (typeof value !== "string") continue;
      out[name] = name in out ? [].concat(out[name], value) : value;
    }
    return out;
  };
  desk.act = (act, given, from) => {
    const key = (from && from.dataset.key) || desk.key();
    if (from) {
      if (from.dataset.busy) return;
      from.dataset.busy = "yes";
      from.dataset.key = key;
      from.setAttribute("aria-busy", "true");
      if (!from.id) from.id = "act-" + key;
    }
    emitEvent("desk_act", { act, key, fields: given, from: from ? from.id : "" });
  };
  // said by the server when it has answered; saved: the kept text of the form has done its duty
  desk.answered = (id, saved) => {
    const from = id && document.getElementById(id);
    if (!from) return;
    delete from.dataset.busy;
    from.removeAttribute("aria-busy");
    if (saved) {
      delete from.dataset.key;
      desk.drop(from);
      if (from.nodeName === "FORM" && from.dataset.after !== "stay") from.reset();
    }
  };
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-act]");
    if (!form) return;
    event.preventDefault();
    desk.act(event.submitter?.dataset.act || form.dataset.act, fields(form, event.submitter), form);
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-act]");
    if (!button || (button.form && button.type === "submit")) return;
    event.preventDefault();
    const form = button.form || document.getElementById(button.dataset.form || "");
    desk.act(button.dataset.act, { ...(form ? fields(form) : {}), ...button.dataset }, button);
  });
  document.addEventListener("change", (event) => {
    const field = event.target.closest("[data-act-change]");
    if (field) desk.act(field.dataset.actChange, { ...field.dataset, name: field.name, value: field.type === "checkbox" ? (field.checked ? "on" : "") : field.value }, null);
  });

  // --- the look: light, dark or as the screen
  desk.look = (wanted) => {
    try { localStorage.setItem(PREFIX + "look", wanted); } catch { /* forgotten with the page */ }
    if (wanted === "light" || wanted === "dark") document.documentElement.dataset.theme = wanted;
    else delete document.documentElement.dataset.theme;
  };

  // --- who looks, and how: kept on this device
  const YEAR = 365 * 24 * 3600;
  document.addEventListener("change", (event) => {
    const field = event.target.closest("[data-reader]");
    if (!field) return;
    if (field.dataset.reader === "look") return desk.look(field.value);
    document.cookie = `loopwright_${field.dataset.reader}=${encodeURIComponent(field.value.trim())}; path=/; max-age=${YEAR}; samesite=lax`;
    location.reload();
  });
  desk.ways.look = (group) => {
    let now = "system";
    try { now = localStorage.getItem(PREFIX + "look") || now; } catch { /* as the screen */ }
    for (const radio of group.querySelectorAll("input")) radio.checked = radio.value === now;
  };

  // the list of pages: always open beside the sheet, behind a lid above it
  const beside = matchMedia("(min-width: 1101px)");
  desk.ways.list = (list) => {
    const settle = () => { list.open = beside.matches; };
    settle();
    beside.addEventListener("change", settle);
    list.addEventListener("click", (event) => { if (event.target.closest("a") && !beside.matches) list.open = false; });
    list.addEventListener("keydown", (event) => { if (event.key === "Escape" && !beside.matches) list.open = false; });
  };

  // what lies over the sheet goes away by Escape, or by a press beside it
  const OVER = "#reader[open], .description-problems[open]";
  document.addEventListener("keydown", (event) => {
    const box = event.key === "Escape" && event.target.closest?.(OVER);
    if (!box) return;
    box.open = false;
    box.querySelector("summary").focus();
  });
  document.addEventListener("click", (event) => {
    for (const box of document.querySelectorAll(OVER)) if (!box.contains(event.target)) box.open = false;
  });

  // --- the connection
  const watch = () => {
    const socket = window.socket;
    if (!socket) return setTimeout(watch, 100);
    const say = (lost) => {
      const bar = document.getElementById("connection");
      if (bar) bar.hidden = !lost;
      document.documentElement.dataset.link = lost ? "lost" : "up";
    };
    socket.on("connect", () => say(false));
    socket.on("disconnect", () => say(true));
    socket.on("connect_error", () => say(true));
  };
  watch();

  // --- keys: a letter after g goes to a page; / goes to the search field. Never while somebody types.
  let going = 0;
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (/^(INPUT|TEXTAREA|SELECT)$/.test(event.target.nodeName) || event.target.isContentEditable) return;
    if (event.key === "/") {
      const search = document.querySelector("input[type=search]");
      if (search) { event.preventDefault(); search.focus(); }
    } else if (event.key === "g") {
      going = Date.now();
    } else if (Date.now() - going < 1500) {
      going = 0;
      document.querySelector(`nav a[data-letter="${CSS.escape(event.key)}"]`)?.click();
    }
  });
})();
