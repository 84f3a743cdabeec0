// What a benchmark watches inside of a page. Times are milliseconds of performance.now(), after the next painting.
(() => {
  const watched = {};
  window.watched = watched;

  // a heading that was not there before, and no region that still waits for what it shows
  const drawn = () => [...document.querySelectorAll("#content h1")].some((h) => !h.dataset.old)
    && !document.querySelector("#content .region > .working");
  const painted = (then) => requestAnimationFrame(() => setTimeout(() => then(performance.now()), 0));

  watched.until = (condition) => new Promise((resolve) => {
    const look = () => {
      if (!condition()) return false;
      watcher.disconnect();
      painted(resolve);
      return true;
    };
    const watcher = new MutationObserver(look);
    if (!look()) watcher.observe(document, { childList: true, subtree: true, characterData: true, attributes: true });
  });

  watched.first = watched.until(drawn);

  watched.change = async (path) => {
    for (const heading of document.querySelectorAll("#content h1")) heading.dataset.old = "yes";
    const begun = performance.now();
    document.querySelector(`nav a[href="${path}"]`).click();
    return (await watched.until(drawn)) - begun;
  };

  const numbers = () => document.getElementById("content").textContent;
  watched.other = async () => {
    const before = numbers();
    return performance.timeOrigin + (await watched.until(() => numbers() !== before));
  };

  watched.save = async (reading) => {
    const fresh = watched.other();
    const begun = performance.timeOrigin + performance.now();
    const answer = await fetch("/api/readings", {
      method: "POST", body: JSON.stringify(reading), headers: { "X-Loopwright": "1", "Content-Type": "application/json" },
    });
    const answered = performance.timeOrigin + performance.now();
    if (answer.status !== 201) throw new Error(`${answer.status} ${await answer.text()}`);
    return { begun, saved: answered - begun, refreshed: (await fresh) - begun };
  };

  watched.entered = () => new Promise((resolve) => {
    const shown = () => document.querySelector(".bench .answer .figure")?.textContent || "";
    const before = shown();
    addEventListener("keydown", async (event) => {
      if (event.key !== "Enter") return;
      const begun = performance.now();
      resolve((await watched.until(() => shown() && shown() !== before)) - begun);
    }, { capture: true, once: true });
  });
})();
