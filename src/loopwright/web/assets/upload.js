// A file is sent as it is; what it holds is read by the server, in bounds, and never by the page.
window.loopwright.way("upload", (form) => {
  const box = form.querySelector("input[type=file]");
  const said = form.querySelector(".wrong");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    event.stopPropagation();
    const file = box.files[0];
    if (!file || form.dataset.busy) return;
    said.hidden = true;
    if (file.size > Number(form.dataset.most)) {
      said.textContent = form.dataset.large;
      said.hidden = false;
      return;
    }
    form.dataset.busy = "yes";
    form.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(`/uploads/${form.dataset.kind}`, {
        method: "POST", body: file, headers: { "X-Loopwright": "1", "Content-Type": "application/octet-stream" },
      });
      const found = await answer.json();
      delete form.dataset.busy;
      if (answer.ok) {
        const others = Object.fromEntries([...new FormData(form)].filter(([, v]) => typeof v === "string"));
        window.loopwright.act(form.dataset.then, { ...others, token: found.token, name: file.name }, form);
      } else {
        said.textContent = found.problems.map((p) => `${p.what}; ${p.remedy}`).join(" ");
        said.hidden = false;
        form.removeAttribute("aria-busy");
      }
    } catch {
      delete form.dataset.busy;
      form.removeAttribute("aria-busy");
      said.textContent = form.dataset.lost;
      said.hidden = false;
    }
  });
});
