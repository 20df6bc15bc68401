// Alternates: other layouts of the same drawings, side by side and under the one master.
const offered = (shot.alternates ? shot.alternates.plans : []).map((plan) => ({
  ...plan,
  action: plan.action && asArrays(plan.action),
  rides: plan.tracks,
  tracks: plan.tracks && plan.tracks.map(asTrack),
  drawnOrder: -1,
}));
const besides = offered.filter(({ tracks }) => tracks);

if (besides.length)
  for (const node of document.querySelectorAll(".of-alternates")) node.hidden = false;

function buildAlternates(view, choose, ask) {
  if (!besides.length) return;
  for (const other of besides) byId("stages").append(smallStage(other, choose));
  const told = byId("told-by");
  Object.keys(offered[0].facts).forEach((word) =>
    told.append(element("option", { value: word }, word)));
  told.addEventListener("change", tellAlternates);
  byId("alternates-view").addEventListener("change", (event) => {
    shareStage(view, event.target.checked);
    ask();
  });
  new ResizeObserver(setInCells).observe(byId("stages"));
  listAlternates();
  shareStage(view, shot.alternates.isOpen);
}

function smallStage(other, choose) {
  const [x, , width] = shot.alternates.window;
  other.picture = make("svg", { viewBox: shot.alternates.window.join(" "), role: "img",
    "aria-label": `The stage of ${nameOf(other)} at this frame` });
  make("path", { d: `M${x} ${shot.rig.ground}h${width}`, class: "floor" }, other.picture);
  other.body = make("g", { class: "small-body" }, other.picture);
  for (const name of ["fill", "stroke", "stroke-width"])
    other.body.setAttribute(name, byId("body").getAttribute(name));
  other.bones = boneNodes.map((node) => make("path", { d: node.getAttribute("d") }, other.body));
  other.layer = make("g", {}, other.picture);
  other.shapes = [];
  other.nodes = shot.pieces.map((piece, index) => {
    const node = make("g", { class: "piece", "data-index": index }, other.layer);
    const ride = other.rides[index];
    const art = artFor(ride, index, node);
    other.shapes[index] = shapeOf(ride, art, node, { ...piece, ...ride });
    node.addEventListener("click", () => choose(index, true));
    return node;
  });
  other.ring = make("path", { class: "lit" }, other.picture);
  other.words = element("p", { className: "cell-words" });
  return element("div", { className: "cell small" }, other.picture, other.words);
}

// The artwork of this page, shown again; a copy where either plan changes it on the way.
function artFor(ride, index, node) {
  const own = byId(`art-${index}`);
  if (!ride.art && !shapes[index] && ride.swap === null)
    return make("use", { href: `#art-${index}` }, node);
  const copy = ride.art
    ? document.importNode(new DOMParser().parseFromString(ride.art, "image/svg+xml")
      .documentElement, true)
    : own.cloneNode(true);
  const art = make("g", { transform: own.getAttribute("transform") }, node);
  art.append(...copy.childNodes);
  return art;
}

const nameOf = ({ number, name }) => `alternate ${number}, ${name}`;

function wayTo(other) {
  const link = element("a", { href: other.page }, `Open ${other.number}`);
  link.setAttribute("aria-label", `Open ${nameOf(other)}`);
  return link;
}

// Under each stage its number, its name, and the one figure that is being compared.
function tellAlternates() {
  const word = byId("told-by").value;
  for (const plan of offered) {
    const box = plan.tracks ? plan.words : byId("own-words");
    const words = [element("b", {}, `${plan.number} ${plan.name}`),
      element("span", {}, plan.facts[word] || "")];
    box.replaceChildren(...words, plan.tracks ? wayTo(plan) : element("span", {}, "this page"));
  }
}

function listAlternates() {
  for (const plan of offered) {
    const facts = element("dl", {});
    for (const [word, value] of Object.entries(plan.facts))
      facts.append(element("dt", {}, word), element("dd", {}, value));
    byId("alternate-list").append(element("li", {},
      element("h3", {}, `${plan.number} ${plan.name}`), facts,
      plan.tracks ? wayTo(plan) : element("p", { className: "note" }, "shown on this page")));
  }
}

function shareStage(view, isShared) {
  view.isShared = isShared;
  byId("alternates-view").checked = isShared;
  byId("stages").classList.toggle("is-shared", isShared);
  tellAlternates();
  setInCells();
}

const CELL_WORDS_PX = 52;
// As many columns as show the stages largest in the room there is.
function setInCells() {
  const box = byId("stages").getBoundingClientRect();
  const [, , wide, high] = shot.alternates.window;
  const n = besides.length + 1;
  const sizeIn = (columns) => Math.min(box.width / columns / wide,
    (box.height / Math.ceil(n / columns) - CELL_WORDS_PX) / high);
  let best = 1;
  for (let columns = 2; columns <= n; columns++)
    if (sizeIn(columns) > sizeIn(best)) best = columns;
  byId("stages").style.setProperty("--columns", best);
}

function drawAlternates(view) {
  if (!view.isShared) return;
  const six = new Float64Array(6);
  for (const other of besides) {
    const run = runAt(view.time, other.orders);
    if (run !== other.drawnOrder)
      other.layer.append(...other.orders[run].pieces.map((index) => other.nodes[index]));
    other.drawnOrder = run;
    const pose = actionAt(view.time, other.action);
    const bones = placeBones(pose);
    other.tracks.forEach((track, index) => {
      placePiece(six, 0, bones, track, view.time);
      const text = asText(six);
      setTransform(other.nodes[index], text);
      drawShape(other.shapes[index], view.time);
      if (index !== view.chosen) return;
      setTransform(other.ring, text);
      other.ring.style.display = "";
      other.ring.setAttribute("d", shot.pieces[index].outline);
      drawOutline(other.ring, other.shapes[index], view.time);
    });
    other.bones.forEach((node, bone) => setTransform(node, asText(placeBody(pose, bones, bone))));
    if (view.chosen < 0) other.ring.setAttribute("d", "");
  }
}
