// A route: ops are dragged by their grip with pointer or finger, or moved by the arrow keys; the focus goes along.

(() => {
  const desk = window.loopwright;
  const MOVE = "description move";
  const EDGE = 90; // pixels from the edge of the window in which the page scrolls along
  const seen = new WeakSet();
  let wanted = null; // where the focus goes once the list is drawn anew: place and what of the op
  let added = false;

  const ops = (list) => [...list.querySelectorAll(":scope > .route-op")];
  const send = (list, from, to, what) => {
    const all = ops(list);
    if (from === to || to < 0 || to >= all.length) return;
    wanted = { to, what };
    desk.act(MOVE, { of: all[from].dataset.path, to: String(to) }, null);
  };

  const settle = (list) => {
    if (added && list.dataset.at) {
      added = false;
      const open = list.querySelector(".route-op.open");
      open?.scrollIntoView({ block: "start" });
      open?.querySelector("select, input")?.focus({ preventScroll: true });
    }
    if (!wanted) return;
    const op = ops(list)[wanted.to];
    const target = op?.querySelector(wanted.what);
    (target && !target.disabled ? target : op?.querySelector(".route-grip"))?.focus();
    op?.scrollIntoView({ block: "nearest" });
    wanted = null;
  };

  document.addEventListener("submit", (event) => {
    if (event.target.closest('form[data-act="description op"]')) added = true;
  }, true);
  // the buttons and the typed number move an op by themselves; the focus has to go along
  document.addEventListener("click", (event) => {
    const step = event.target.closest(".route-step");
    if (step) wanted = { to: Number(step.dataset.to), what: step.classList.contains("up") ? ".route-step.up" : ".route-step.down" };
  }, true);

  const begin = (list, grip, event) => {
    const op = grip.closest(".route-op");
    const all = ops(list), from = all.indexOf(op);
    const boxes = all.map((one) => { const r = one.getBoundingClientRect(); return { top: r.top + scrollY, height: r.height }; });
    const gap = all.length > 1 ? Math.max(0, boxes[1].top - boxes[0].top - boxes[0].height) : 0;
    const start = event.clientY + scrollY;
    let at = event.clientY, to = from, frame = 0;
    grip.setPointerCapture(event.pointerId);
    op.classList.add("dragged");
    list.classList.add("dragging");

    const show = () => {
      const moved = at + scrollY - start;
      op.style.transform = `translateY(${moved}px)`;
      const middle = boxes[from].top + boxes[from].height / 2 + moved;
      to = from;
      for (let n = 0; n < all.length; n += 1) {
        const half = boxes[n].top + boxes[n].height / 2;
        if (n < from && middle < half) { to = n; break; }
        if (n > from && middle > half) to = n;
      }
      all.forEach((one, n) => {
        if (one === op) return;
        const shift = n > from && n <= to ? -1 : n < from && n >= to ? 1 : 0;
        one.style.transform = shift ? `translateY(${shift * (boxes[from].height + gap)}px)` : "";
      });
    };
    const along = () => {
      const step = at < EDGE ? at - EDGE : at > innerHeight - EDGE ? at - innerHeight + EDGE : 0;
      if (step) { scrollBy(0, step / 6); show(); }
      frame = requestAnimationFrame(along);
    };
    const move = (e) => { at = e.clientY; show(); };
    const end = (drop) => {
      cancelAnimationFrame(frame);
      grip.removeEventListener("pointermove", move);
      grip.removeEventListener("pointerup", up);
      grip.removeEventListener("pointercancel", away);
      document.removeEventListener("keydown", escape, true);
      op.classList.remove("dragged");
      list.classList.remove("dragging");
      for (const one of all) one.style.transform = "";
      if (drop && op.isConnected && ops(list)[from] === op) send(list, from, to, ".route-grip");
    };
    const up = () => end(true);
    const away = () => end(false);
    const escape = (e) => { if (e.key === "Escape") { e.stopPropagation(); end(false); } };
    grip.addEventListener("pointermove", move);
    grip.addEventListener("pointerup", up);
    grip.addEventListener("pointercancel", away);
    document.addEventListener("keydown", escape, true);
    frame = requestAnimationFrame(along);
  };

  desk.way("route", (list) => {
    if (seen.has(list)) { settle(list); return; }
    seen.add(list);
    if (list.dataset.at) list.querySelector(".route-op.open")?.scrollIntoView({ block: "start" });
    list.addEventListener("pointerdown", (event) => {
      const grip = event.target.closest(".route-grip");
      if (!grip || event.button > 0) return;
      event.preventDefault();
      grip.focus({ preventScroll: true });
      begin(list, grip, event);
    });
    list.addEventListener("keydown", (event) => {
      const grip = event.target.closest(".route-grip");
      const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
      if (!grip || !step || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      const from = ops(list).indexOf(grip.closest(".route-op"));
      send(list, from, from + step, ".route-grip");
    });
    settle(list);
  });
})();
