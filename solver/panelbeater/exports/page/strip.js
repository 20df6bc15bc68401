// The strip of time: a graph of a score, broken promises, and when each piece moves.
// A crowded strip gets thinner bars, so that most of it is seen at once.
const nLanes = shot.limbs.reduce((sum, limb) => sum + limb.lanes, 0);
const laneHigh = nLanes > 24 ? 9 : 13;
const shareOf = (frame) => (100 * frame) / Math.max(lastFrame, 1);
const pieceBars = [];

function addRow(label, side, lanes, bars) {
  const box = element("div", { className: "lanes" });
  box.style.height = `${Math.max(lanes * laneHigh, 13)}px`;
  for (const bar of bars) {
    const node = element("div", { className: "bar", title: bar.title || "" });
    node.style.left = `${shareOf(bar.start)}%`;
    node.style.width = `${shareOf(bar.end - bar.start)}%`;
    node.style.height = `${laneHigh - 2}px`;
    node.style.top = `${bar.lane * laneHigh + 1}px`;
    if (bar.act) node.addEventListener("click", bar.act);
    if (bar.index !== undefined) pieceBars[bar.index] = node;
    box.append(node);
  }
  const row = element("div", { className: "limb" }, element("span", {}, label), box);
  row.dataset.side = side;
  byId("strip").append(row);
}

function brokenBars(light) {
  const marks = new Map();
  for (const promise of shot.scores.promises)
    for (const place of promise.broken)
      for (const frame of place.frames) {
        const start = Math.floor(frame);
        if (!marks.has(start)) marks.set(start, [promise, place, start]);
      }
  return [...marks.values()].sort((a, b) => a[2] - b[2]).map(([promise, place, start]) => ({
    start, end: start, lane: 0, title: `${promise.name}, frame ${start + 1}`,
    act: () => light(place, promise.name, start),
  }));
}

function buildStrip(choose, light) {
  const broken = brokenBars(light);
  if (broken.length) addRow("broken", "broken", 1, broken);
  addRow("body", "body", 1, shot.bodyMoves.map(([start, end]) => ({ start, end, lane: 0 })));
  for (const limb of shot.limbs)
    addRow(limb.name, limb.side, limb.lanes,
      limb.bars.map((bar) => ({ ...bar, act: () => choose(bar.index) })));
}

let barsShown = 0;
function drawBars() {
  if (barsShown === changes.version) return;
  barsShown = changes.version;
  pieceBars.forEach((bar, index) => {
    bar.style.left = `${shareOf(tracks[index].start + offsetOf(index))}%`;
  });
}

function buildGraph() {
  const { series } = shot.scores;
  byId("graph-row").hidden = !series.length;
  if (!series.length) return;
  const choice = byId("graph-of");
  series.forEach(({ name }, k) => choice.append(element("option", { value: k }, name)));
  const missed = series.findIndex(({ values, wanted }) =>
    Number.isFinite(wanted) && Math.max(...values) > wanted);
  choice.value = String(Math.max(missed, 0));
  choice.addEventListener("change", () => { remakeGraph(); drawGraph(now ? view.time : 0); });
  byId("graph").addEventListener("click", (event) => {
    const box = byId("graph").getBoundingClientRect();
    goTo(lastFrame * (event.clientX - box.left) / box.width);
  });
  remakeGraph();
}

const graphOf = () => shot.scores.series[Number(byId("graph-of").value)];

function remakeGraph() {
  const { values, wanted } = graphOf();
  const top = Math.max(...values, Number.isFinite(wanted) ? wanted : 0, 1e-9) * 1.08;
  const y = (value) => (100 - (100 * value) / top).toFixed(2);
  const graph = byId("graph");
  graph.setAttribute("viewBox", `0 0 ${Math.max(lastFrame, 1)} 100`);
  const line = values.map((value, frame) => `${frame} ${y(value)}`).join("L");
  byId("graph-area").setAttribute("d", `M0 100L${line}L${lastFrame} 100Z`);
  byId("graph-line").setAttribute("d", `M${line}`);
  byId("graph-wanted").setAttribute("d",
    Number.isFinite(wanted) ? `M0 ${y(wanted)}H${lastFrame}` : "");
}

function drawGraph(time) {
  const series = graphOf();
  if (!series) return;
  const { values, wanted } = series;
  const value = values[Math.min(Math.floor(time + 1e-6), values.length - 1)];
  const words = inShort(value) +
    (Number.isFinite(wanted) ? `, wanted at most ${inShort(wanted)}` : "");
  const node = byId("graph-now");
  if (node.textContent !== words) node.textContent = words;
  node.classList.toggle("missed", Number.isFinite(wanted) && value > wanted);
}

// Measured when it changes, not at every frame: asking for it makes the browser lay out.
let scrubWidth = 0;
function watchWidth(ask) {
  new ResizeObserver(([entry]) => {
    scrubWidth = entry.contentRect.width;
    ask();
  }).observe(byId("scrub"));
  new ResizeObserver(() => {
    measureStage();
    ask();
  }).observe(stage);
}

function movePlayhead(time) {
  const room = scrubWidth - 24;
  byId("playhead").style.transform =
    `translateX(${((room * time) / Math.max(lastFrame, 1)).toFixed(2)}px)`;
}
