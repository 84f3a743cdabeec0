// What is chosen or typed in such a form is told to the server at once, so that a page that is loaded anew still has it.
window.loopwright.way("remember", (form) => {
  let later = 0;
  const tell = () => {
    clearTimeout(later);
    const given = [...new FormData(form)].filter(([, value]) => typeof value === "string");
    window.loopwright.act(form.dataset.remember, Object.fromEntries(given), null);
  };
  form.addEventListener("change", tell);
  form.addEventListener("input", () => { clearTimeout(later); later = setTimeout(tell, 400); });
  form.addEventListener("submit", () => clearTimeout(later));
});
