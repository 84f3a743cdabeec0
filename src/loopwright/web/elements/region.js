// A piece of a page: new markup is worked into the old, so that focus, typed text and open details stay.

const SAME = (a, b) => a.nodeType === b.nodeType && a.nodeName === b.nodeName && (a.id || "") === (b.id || "");
const TYPED = new Set(["INPUT", "TEXTAREA", "SELECT"]);

function attributes(from, to) {
  for (const { name } of [...from.attributes]) {
    if (!to.hasAttribute(name) && !(name === "open" && from.nodeName === "DETAILS")) from.removeAttribute(name);
  }
  for (const { name, value } of [...to.attributes]) {
    if (name === "open" && from.nodeName === "DETAILS") continue; // opened or closed by the reader
    if (from.getAttribute(name) !== value) from.setAttribute(name, value);
  }
}

function field(from, to) {
  // what somebody typed stays; what nobody touched follows the page
  const untouched = from.nodeName === "SELECT"
    ? [...from.options].every((o) => o.selected === o.defaultSelected)
    : from.value === from.defaultValue && from.checked === from.defaultChecked;
  attributes(from, to);
  if (from.nodeName === "SELECT") {
    if (untouched) from.replaceChildren(...[...to.childNodes].map((n) => n.cloneNode(true)));
  } else if (untouched && document.activeElement !== from) {
    from.value = from.nodeName === "TEXTAREA" ? to.textContent : to.getAttribute("value") ?? "";
    from.checked = to.hasAttribute("checked");
  }
}

export function work(from, to) {
  const old = [...from.childNodes];
  let k = 0;
  for (const next of [...to.childNodes]) {
    let here = old[k];
    if (here && next.id && here.id !== next.id) {
      const j = old.findIndex((n, i) => i >= k && n.id === next.id && n.nodeName === next.nodeName);
      if (j >= 0) {
        from.insertBefore(old[j], here);
        old.splice(k, 0, old.splice(j, 1)[0]);
        here = old[k];
      }
    }
    if (here && SAME(here, next)) {
      if (here.nodeType === 3) {
        if (here.data !== next.data) here.data = next.data;
      } else if (here.nodeType === 1) {
        if (TYPED.has(here.nodeName)) field(here, next);
        else if (!here.isEqualNode(next)) {
          attributes(here, next);
          work(here, next);
        }
      }
      k++;
    } else if (here) {
      from.insertBefore(next, here);
      old.splice(k, 0, next);
      k++;
    } else {
      from.appendChild(next);
    }
  }
  for (const rest of old.slice(k)) rest.remove();
}

export default {
  template: `<component :is="tag"></component>`,
  props: { tag: String, markup: String },
  mounted() {
    this.$el.innerHTML = this.markup;
    this.shown = this.markup;
    window.loopwright?.arrived(this.$el);
  },
  updated() {
    if (this.markup === this.shown) return;
    const next = document.createElement("template");
    next.innerHTML = this.markup;
    work(this.$el, next.content);
    this.shown = this.markup;
    window.loopwright?.arrived(this.$el);
  },
};
