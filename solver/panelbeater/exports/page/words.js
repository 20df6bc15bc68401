// Small helpers for everything beside the stage.
function element(tag, properties, ...inside) {
  const node = Object.assign(document.createElement(tag), properties);
  node.append(...inside);
  return node;
}

function framesInWords(frames) {
  if (!frames.length) return "";
  const runs = [];
  for (const frame of frames) {
    const run = runs[runs.length - 1];
    if (run && frame - run[1] <= 1) run[1] = frame;
    else runs.push([frame, frame]);
  }
  const parts = runs.map(([a, b]) => (a === b ? `${a + 1}` : `${a + 1}-${b + 1}`));
  const shown = parts.slice(0, 4).join(", ") + (parts.length > 4 ? ", ..." : "");
  return (parts.length === 1 && runs[0][0] === runs[0][1] ? "frame " : "frames ") + shown;
}

const inShort = (value) => String(Number(Number(value).toPrecision(4)));
const say = (words) => { byId("said").textContent = words; };

// A slider and a number box that always agree; `change` gets the number. The words before
// it name both for a reader that cannot see where they stand.
function dial(words, spoken, { low, high, step, unit }, change) {
  const slide = element("input", { type: "range", min: low, max: high, step, value: 0 });
  const box = element("input", { type: "number", min: low, max: high, step, value: 0 });
  slide.setAttribute("aria-label", `${spoken}, ${unit}`);
  box.setAttribute("aria-label", `${spoken}, exact, ${unit}`);
  const asked = (node) => {
    const value = Number(node.value);
    if (node.value === "" || !Number.isFinite(value)) return;
    const held = Math.min(Math.max(value, low), high);
    node.value = String(held);
    change(held);
  };
  slide.addEventListener("input", () => asked(slide));
  box.addEventListener("change", () => asked(box));
  const row = element("div", { className: "dial" },
    element("span", { ariaHidden: "true" }, words), slide, box);
  const show = (value) => {
    const text = String(Math.round(value / step) * step);
    if (slide.value !== text) slide.value = text;
    if (document.activeElement !== box && box.value !== text) box.value = text;
  };
  return { row, show };
}

// Sections of the column: one open at a time, arrow keys move between their names.
function buildTabs(opened) {
  const tabs = [...document.querySelectorAll("[role=tab]:not([hidden])")];
  const open = (tab) => {
    for (const other of tabs) {
      const isOpen = other === tab;
      other.setAttribute("aria-selected", String(isOpen));
      other.tabIndex = isOpen ? 0 : -1;
      byId(other.getAttribute("aria-controls")).hidden = !isOpen;
    }
    opened(tab.id);
  };
  tabs.forEach((tab, k) => {
    tab.addEventListener("click", () => open(tab));
    tab.addEventListener("keydown", (event) => {
      const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!by) return;
      event.preventDefault();
      event.stopPropagation();
      const next = tabs[(k + by + tabs.length) % tabs.length];
      next.focus();
      open(next);
    });
  });
  return (id) => open(byId(id));
}
