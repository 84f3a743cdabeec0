// The list of parts: tick all of a page, print.

(() => {
  const desk = window.loopwright;
  desk.way("tick-all", (box) => {
    const all = () => [...box.closest("table").querySelectorAll('tbody input[name="part"]')];
    box.addEventListener("change", () => { for (const one of all()) one.checked = box.checked; });
  });
  desk.way("print", (button) => button.addEventListener("click", () => window.print()));
})();
