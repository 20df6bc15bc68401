// The page: what is asked for, and when to draw it.
const asksForCalm = matchMedia("(prefers-reduced-motion: reduce)");
const view = {
  time: 0, isSpread: false, arcs: "chosen", nBefore: 0, nAfter: 0, skinGap: 4,
  hasHandles: false, isShared: false, chosen: -1, broken: [],
};
const playing = { isOn: false, way: 1, before: 0, exact: 0, rest: 0 };
const END_HOLD_S = 1;
const CALM_STEPS_PER_S = 2;
const CALM_STEPS = 24;
let isAsked = false;

// One drawing for any number of requests within a screen refresh.
function ask() {
  if (isAsked) return;
  isAsked = true;
  requestAnimationFrame(onRefresh);
}

function onRefresh(now) {
  isAsked = false;
  if (playing.isOn) advance(now);
  showWindow(view);
  drawStage(view);
  drawWords();
  if (playing.isOn) ask();
}

function heldFrames() {
  const asked = Number(byId("held").value);
  if (!asksForCalm.matches) return asked;
  return Math.max(asked, Math.ceil(shot.frames / CALM_STEPS));
}

function advance(now) {
  const passed = playing.before ? Math.min((now - playing.before) / 1000, 0.25) : 0;
  playing.before = now;
  if (playing.rest > 0) {
    playing.rest -= passed;
    if (playing.rest <= 0) turnOver();
    return;
  }
  const held = heldFrames();
  const rate = asksForCalm.matches ? CALM_STEPS_PER_S * held : shot.fps;
  playing.exact += passed * rate * Number(byId("speed").value) * playing.way;
  playing.exact = Math.min(Math.max(playing.exact, 0), lastFrame);
  const isAtEnd = playing.way > 0 ? playing.exact >= lastFrame : playing.exact <= 0;
  view.time = held && !isAtEnd ? Math.floor(playing.exact / held) * held : playing.exact;
  if (!isAtEnd) return;
  if (byId("ending").value === "stop") setPlaying(false);
  else playing.rest = END_HOLD_S;
}

function turnOver() {
  if (byId("ending").value === "back") playing.way = -playing.way;
  else { playing.way = 1; playing.exact = 0; view.time = 0; }
}

function setPlaying(isOn) {
  if (playing.isOn === isOn) return;
  playing.isOn = isOn;
  playing.before = 0;
  playing.rest = 0;
  if (isOn) {
    if (view.time >= lastFrame) { view.time = 0; playing.way = 1; }
    if (byId("ending").value !== "back") playing.way = 1;
    playing.exact = view.time;
  }
  byId("play").textContent = isOn ? "Pause" : "Play";
  ask();
}

function goTo(frame) {
  setPlaying(false);
  view.time = Math.min(Math.max(Math.round(frame), 0), lastFrame);
  ask();
}

const step = (by) => goTo((by > 0 ? Math.floor(view.time) : Math.ceil(view.time)) + by);

function drawWords() {
  const frame = Math.floor(view.time + 1e-6);
  const share = view.time / Math.max(lastFrame, 1);
  const master = (shot.reverse ? 1 - share : share).toFixed(3);
  const words = {
    "frame-now": `frame ${frame + 1} of ${shot.frames}`,
    "time-now": shot.times[frame],
    "master-now": `master ${master}`,
    "action-now": changes.held ? "the body stands still" : shot.actions[frame],
  };
  for (const id in words) if (byId(id).textContent !== words[id]) byId(id).textContent = words[id];
  const scrub = byId("scrub");
  if (Number(scrub.value) !== frame) scrub.value = String(frame);
  if (!playing.isOn)
    scrub.setAttribute("aria-valuetext", `${words["frame-now"]}, ${words["action-now"]}`);
  movePlayhead(frame);
  drawGraph(frame);
  drawBars();
  drawBody();
  drawLater();
}

function choose(index, isFromStage = false) {
  view.chosen = view.chosen === index ? -1 : index;
  view.broken = [];
  afterChoice(isFromStage);
}

function afterChoice(isFromStage) {
  if (isFromStage && view.chosen >= 0) openTab("tab-pieces");
  showChosen(rows, view.chosen, isFromStage);
  remakeLit(view);
  const piece = shot.pieces[view.chosen];
  const line = piece ? `${piece.id}, ${piece.kind}: from ${piece.from} to ${piece.region}` : "";
  byId("chosen-now").textContent = line;
  say(line);
  ask();
}

function light(place, name, frame = Math.floor(place.frames[0] ?? view.time)) {
  view.broken = [];
  for (const id of place.pieces) {
    const piece = shot.pieces.findIndex((p) => p.id === id);
    const bone = boneAt(id.replace(/^bone /, ""));
    if (piece >= 0) view.broken.push(["piece", piece]);
    else if (bone >= 0) view.broken.push(["bone", bone]);
  }
  view.chosen = -1;
  afterChoice(false);
  goTo(frame);
  const line = `${name} broken: ${place.pieces.join(", ")}`;
  byId("chosen-now").textContent = line;
  say(line);
}

function setBody() {
  const asked = byId("body-view").value;
  const body = byId("body");
  body.setAttribute("class", asked);
  byId("stages").dataset.body = asked;
  if (asked === "over") byId("pieces").after(body);
  else byId("pieces").before(body);
}

const PRESSED_BY_SPACE = "button, select, summary, input[type='checkbox'], input[type='file']";
const MOVED_BY_ARROWS = "select, input[type='range'], input[type='number']";

function onKey(event) {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const target = event.target;
  if (event.key === " ") {
    if (target.matches(PRESSED_BY_SPACE)) return;
    setPlaying(!playing.isOn);
  } else if (target.matches(MOVED_BY_ARROWS)) return;
  else if (event.key === "ArrowRight") step(1);
  else if (event.key === "ArrowLeft") step(-1);
  else if (event.key === "Home") goTo(0);
  else if (event.key === "End") goTo(lastFrame);
  else return;
  event.preventDefault();
}

function onStage(event) {
  if (event.target.closest(".handle")) return;
  const piece = event.target.closest(".piece");
  if (piece) choose(Number(piece.dataset.index), true);
  else if (view.chosen >= 0) choose(view.chosen);
}

function calm() {
  byId("slow-note").hidden = !asksForCalm.matches;
}

function onTab(id) {
  if (id === "tab-body") showHandles(true);
}

function showHandles(isOn) {
  view.hasHandles = isOn;
  byId("handles-view").checked = isOn;
  ask();
}

// A control that sets one thing in the view and asks for a drawing.
function bindView(id, set) {
  byId(id).addEventListener("change", (event) => {
    set(event.target);
    ask();
  });
}

const openTab = buildTabs(onTab);
const rows = buildList(choose, ask);
buildStrip(choose, light);
buildGraph();
buildPromises(light);
buildScores();
buildHandles(view, ask);
buildBody(view, ask);
buildHands(ask);
buildPoses(view, ask);
buildAlternates(view, choose, ask);
if (view.isShared) {
  view.time = lastFrame;
  openTab("tab-alternates");
}
byId("held").value = String(Math.min(shot.exposure, 3));
byId("play").addEventListener("click", () => setPlaying(!playing.isOn));
byId("first").addEventListener("click", () => goTo(0));
byId("back").addEventListener("click", () => step(-1));
byId("next").addEventListener("click", () => step(1));
byId("last").addEventListener("click", () => goTo(lastFrame));
byId("scrub").addEventListener("input", (event) => goTo(Number(event.target.value)));
byId("body-view").addEventListener("change", setBody);
bindView("skins-before", (node) => { view.nBefore = Number(node.value); });
bindView("skins-after", (node) => { view.nAfter = Number(node.value); });
bindView("gap", (node) => { view.skinGap = Number(node.value); });
bindView("arcs", (node) => { view.arcs = node.value; });
bindView("handles-view", (node) => showHandles(node.checked));
bindView("depth-view", (node) => { view.isSpread = node.checked; });
stage.addEventListener("click", onStage);
document.addEventListener("keydown", onKey);
asksForCalm.addEventListener("change", calm);
byId("strip-fold").open = innerWidth >= 700; // on a phone the pieces come sooner
const hasRoom = matchMedia("(min-width: 700px) and (min-height: 780px)");
for (const fold of document.querySelectorAll("details.choices-fold")) fold.open = hasRoom.matches;
watchWidth(ask);
measureStage();
calm();
ask();
