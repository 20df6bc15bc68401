// Somebody else's drawing made safe: elements that paint, nothing that runs or fetches.
// No <use>: copies of copies can grow without end.
const MOST_BYTES = 1 << 19;
const MOST_ELEMENTS = 4000;
const PAINTS = new Set(("g defs path rect circle ellipse line polyline polygon " +
  "linearGradient radialGradient stop clipPath mask pattern").split(" "));
const PLAIN = new Set(("d x y x1 y1 x2 y2 cx cy r rx ry fx fy width height points transform " +
  "viewBox offset fill fill-opacity fill-rule stroke stroke-width stroke-opacity " +
  "stroke-linecap stroke-linejoin stroke-miterlimit stroke-dasharray stroke-dashoffset " +
  "opacity stop-color stop-opacity gradientUnits gradientTransform spreadMethod " +
  "patternUnits patternContentUnits patternTransform clip-path clip-rule clipPathUnits " +
  "mask maskUnits maskContentUnits display visibility color").split(" "));
const HERE = /^url\(\s*["']?#([^"')]+)["']?\s*\)$/;

// A <g> with the drawing and its box, or an Error that says what to do.
function cleanDrawing(text, prefix) {
  if (text.length > MOST_BYTES) throw new Error("the file is larger than 512 KiB; simplify it");
  if (/<!ENTITY/i.test(text)) throw new Error("the file defines entities; save it as plain SVG");
  // Handlers could not run here, but the browser complains of each one it refuses.
  const quiet = text.replace(/\son[a-z]+\s*=\s*("[^"]*"|'[^']*')/gi, " ");
  const root = new DOMParser().parseFromString(quiet, "image/svg+xml").documentElement;
  if (root.localName !== "svg" || root.namespaceURI !== SVG || root.querySelector("parsererror"))
    throw new Error("this is not an SVG drawing");
  if (root.querySelectorAll("*").length > MOST_ELEMENTS)
    throw new Error(`more than ${MOST_ELEMENTS} elements; simplify the drawing`);
  const out = make("g", {});
  for (const child of root.children) cleanInto(out, child, prefix);
  if (!out.querySelector("path, rect, circle, ellipse, line, polyline, polygon"))
    throw new Error("no shapes in this drawing; convert text and pictures to outlines");
  return out;
}

function cleanInto(parent, element, prefix) {
  if (element.namespaceURI !== SVG || !PAINTS.has(element.localName)) return;
  const node = make(element.localName, {}, parent);
  for (const { name, value } of element.attributes) {
    if (name === "id") node.setAttribute("id", prefix + value);
    else if (name === "style") cleanStyle(node, value, prefix);
    else if (name === "href" || name === "xlink:href") {
      // Gradients may inherit from each other; nothing else refers anywhere.
      if (value.startsWith("#")) node.setAttribute("href", `#${prefix}${value.slice(1)}`);
    } else setPlain(node, name, value, prefix);
  }
  for (const child of element.children) cleanInto(node, child, prefix);
}

function setPlain(node, name, value, prefix) {
  if (!PLAIN.has(name)) return;
  const here = HERE.exec(value.trim());
  if (here) node.setAttribute(name, `url(#${prefix}${here[1]})`);
  else if (!/url\(|javascript:|expression/i.test(value.replace(/\\/g, "")))
    node.setAttribute(name, value);
}

// Styles become attributes, so that the same short list of names guards both.
function cleanStyle(node, style, prefix) {
  for (const part of style.split(";")) {
    const [name, ...rest] = part.split(":");
    if (rest.length) setPlain(node, name.trim(), rest.join(":").trim(), prefix);
  }
}
