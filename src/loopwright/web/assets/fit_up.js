// Labels: ticking all of a group, and printing. Values that are taken over by a press.
(() => {
  const { way } = window.loopwright;
  // from the first key on a form keeps how far the book went then, whatever others enter meanwhile
  way("seen", (mark) => mark.form?.addEventListener("input", (event) => {
    if (event.target === mark || mark.value.endsWith(" ")) return;
    mark.value += " ";
    mark.dispatchEvent(new Event("input", { bubbles: true }));
  }));
  way("print-labels", (button) => button.addEventListener("click", () => window.print()));
  way("tick-group", (button) => {
    const boxes = () => [...document.querySelectorAll(`#${CSS.escape(button.dataset.of)} input[type="checkbox"]`)];
    button.addEventListener("click", () => {
      const every = boxes(), on = every.some((box) => !box.checked);
      for (const box of every) box.checked = on;
    });
  });
})();
// A value that is proposed goes into its field by one press; it is kept there as if it had been typed.
(() => {
  const { way } = window.loopwright;
  const take = (button) => {
    const field = document.getElementById(button.dataset.for);
    if (!field) return;
    field.value = button.dataset.value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    return field;
  };
  way("take", (button) => button.addEventListener("click", () => take(button)?.focus()));
  way("take-all", (button) => button.addEventListener("click", () => {
    for (const one of button.form.querySelectorAll('[data-way="take"]')) take(one);
  }));
})();
