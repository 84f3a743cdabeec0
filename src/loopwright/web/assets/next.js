// The hours that are left today stay on this device.

window.loopwright.way("hours", (place) => {
  const NAME = "next/hours";
  const form = place.querySelector("form");
  const field = form.elements.hours;
  form.addEventListener("submit", () => window.loopwright.keep(NAME, field.value.trim()));
  const kept = window.loopwright.kept(NAME);
  if (kept && kept !== field.value.trim()) {
    field.value = kept;
    form.requestSubmit();
  }
});
