// Beside the stage: the strip of time, the promises, the pieces and the scores.
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

// A crowded strip gets thinner bars, so that most of it is seen at once.
const nLanes = shot.limbs.reduce((sum, limb) => sum + limb.lanes, 0);
const laneHigh = nLanes > 24 ? 9 : 13;

function buildStrip(choose) {
  const strip = byId("strip");
  const share = (frame) => (100 * frame) / Math.max(lastFrame, 1);
  const addRow = (label, side, lanes, bars) => {
    const box = element("div", { className: "lanes" });
    box.style.height = `${Math.max(lanes * laneHigh, 13)}px`;
    for (const bar of bars) {
      const node = element("div", { className: "bar", title: bar.title || "" });
      node.style.left = `${share(bar.start)}%`;
      node.style.width = `${share(bar.end - bar.start)}%`;
      node.style.height = `${laneHigh - 2}px`;
      node.style.top = `${bar.lane * laneHigh + 1}px`;
      if (bar.index !== undefined) {
        node.dataset.index = bar.index;
        node.addEventListener("click", () => choose(bar.index));
      }
      box.append(node);
    }
    const row = element("div", { className: "limb" }, element("span", {}, label), box);
    row.dataset.side = side;
    strip.append(row);
  };
  const broken = new Set();
  for (const promise of shot.scores.promises)
    for (const place of promise.broken)
      for (const frame of place.frames) broken.add(Math.floor(frame));
  if (broken.size) {
    const marks = [...broken].sort((a, b) => a - b);
    addRow("broken", "broken", 1, marks.map((f) => ({ start: f, end: f, lane: 0 })));
  }
  addRow("body", "body", 1, shot.bodyMoves.map(([start, end]) => ({ start, end, lane: 0 })));
  for (const limb of shot.limbs) addRow(limb.name, limb.side, limb.lanes, limb.bars);
  strip.append(element("div", { className: "playhead" }));
}

// Measured when it changes, not at every frame: asking for it makes the browser lay out.
let scrubWidth = 0;
function watchWidth(ask) {
  new ResizeObserver(([entry]) => {
    scrubWidth = entry.contentRect.width;
    ask();
  }).observe(byId("scrub"));
}

function movePlayhead(time) {
  const head = byId("strip").querySelector(".playhead");
  const room = scrubWidth - 24;
  head.style.transform = `translateX(${((room * time) / Math.max(lastFrame, 1)).toFixed(2)}px)`;
}

function buildPromises(light) {
  const box = byId("promises");
  if (!shot.scores.promises.length) box.append(element("p", { className: "note" },
    "Not checked in this file."));
  for (const promise of shot.scores.promises) {
    const row = element("div", { className: "promise" + (promise.kept ? "" : " is-broken") },
      element("span", { className: "word" }, promise.kept ? "kept" : "broken"),
      element("span", {}, promise.name),
      element("span", { className: "amount" }, inShort(promise.value)));
    if (promise.broken.length) {
      const places = element("ul", {});
      for (const place of promise.broken.slice(0, shot.placesShown)) {
        const where = [framesInWords(place.frames), place.pieces.join(", ")];
        const text = [where.filter(Boolean).join(", "), place.detail].filter(Boolean).join(": ");
        const button = element("button", { type: "button" }, text);
        button.addEventListener("click", () => light(place, promise.name));
        places.append(element("li", {}, button));
      }
      const rest = promise.broken.length - shot.placesShown;
      if (rest > 0) places.append(element("li", { className: "note" },
        `and ${rest} more in the scores file`));
      row.append(places);
    }
    box.append(row);
  }
}

function factsOf(piece) {
  const facts = [
    ["Kind", piece.kind + (piece.signature ? ", must stay readable" : "")],
    ["From", piece.from],
    ["To", piece.region],
    ["Rides", piece.bone === piece.region ? "" : piece.bone],
    ["Moves", `frames ${piece.start + 1}-${piece.end + 1}`],
    ["End scale", inShort(piece.scale)],
    ["End stretch", inShort(piece.stretch)],
    ["Covers alone", `${inShort(100 * piece.gain)} % of the figure`],
    ["Why", piece.reason],
  ];
  if (piece.mirror) facts.splice(4, 0, ["Answers", piece.mirror]);
  const list = element("dl", {});
  for (const [word, value] of facts)
    if (value) list.append(element("dt", {}, word), element("dd", {}, value));
  return list;
}

function buildList(choose) {
  const rows = [];
  for (const limb of shot.limbs) {
    if (!limb.bars.length) continue;
    byId("list").append(element("h3", {}, limb.name));
    for (const { index } of limb.bars) {
      const piece = shot.pieces[index];
      const picture = make("svg", { viewBox: piece.frame, "aria-hidden": "true" });
      make("use", { href: `#art-${index}` }, picture);
      const words = element("span", {},
        element("span", { className: "name" }, piece.id),
        element("span", { className: "way" }, `${piece.kind}, from ${piece.from} to ${piece.region}`));
      const row = element("button", { type: "button", className: "row" }, picture, words);
      row.setAttribute("aria-expanded", "false");
      row.addEventListener("click", () => choose(index));
      const details = element("div", { className: "details", hidden: true }, factsOf(piece));
      byId("list").append(row, details);
      rows[index] = { row, details };
    }
  }
  return rows;
}

function showChosen(rows, chosen, isFromStage) {
  rows.forEach(({ row, details }, index) => {
    row.setAttribute("aria-expanded", String(index === chosen));
    details.hidden = index !== chosen;
  });
  for (const bar of byId("strip").querySelectorAll(".bar"))
    bar.classList.toggle("chosen", Number(bar.dataset.index) === chosen);
  const column = document.querySelector(".column");
  const hasOwnScroll = column.scrollHeight > column.clientHeight + 1;
  if (chosen >= 0 && isFromStage && hasOwnScroll)
    rows[chosen].row.scrollIntoView({ block: "nearest" });
}

function buildScores() {
  for (const [name, key] of [["Layout, last frame", "layout"], ["Motion", "motion"]]) {
    if (!shot.scores[key].length) continue;
    const table = element("table", {});
    table.append(element("caption", { className: "unseen" }, name));
    const head = element("tr", {});
    for (const word of ["score", "value", "wanted"])
      head.append(element("th", { scope: "col" }, word));
    table.append(element("thead", {}, head));
    const rows = element("tbody", {});
    for (const score of shot.scores[key]) {
      const target = score.target || {};
      const wanted = [];
      if (target.low !== undefined) wanted.push(`at least ${inShort(target.low)}`);
      if (target.high !== undefined) wanted.push(`at most ${inShort(target.high)}`);
      const isMissed = score.on_target === false;
      rows.append(element("tr", {},
        element("th", { scope: "row", title: score.note || "" }, score.name),
        element("td", {}, `${inShort(score.value)} ${score.unit || ""}`),
        element("td", { className: isMissed ? "missed" : "" },
          wanted.join(", ") + (isMissed ? " (missed)" : ""))));
    }
    table.append(rows);
    byId("scores").append(element("h3", {}, name), table);
  }
  if (!byId("scores").childElementCount)
    byId("scores").append(element("p", { className: "note" }, "None in this file."));
}
