// The stage: pieces and bones at a moment, skins, arc, depth view, and what is lit.
const SVG = "http://www.w3.org/2000/svg";
const shot = JSON.parse(document.getElementById("shot").textContent);
const nPieces = shot.pieces.length;
const lastFrame = shot.frames - 1;
const pieceTracks = Float32Array.from(shot.pieceMoves);
const boneTracks = Float32Array.from(shot.boneMoves);
const byId = (id) => document.getElementById(id);
const stage = byId("stage");
const pieceNodes = [];
for (const node of byId("pieces").children) pieceNodes[Number(node.dataset.index)] = node;
const boneNodes = [...byId("body").children];
const drawnTransforms = new Map();
let drawnOrder = -1;

function make(name, attributes, parent) {
  const node = document.createElementNS(SVG, name);
  for (const key in attributes) node.setAttribute(key, attributes[key]);
  if (parent) parent.append(node);
  return node;
}

// Between whole frames the matrices are joined by straight lines: at one frame's distance
// the difference from a turn is too small to see.
function momentOf(tracks, count, index, time) {
  const frame = Math.min(Math.floor(time), lastFrame);
  const share = time - frame;
  const from = (frame * count + index) * 6;
  const out = Array.from(tracks.subarray(from, from + 6));
  if (share > 0 && frame < lastFrame) {
    const to = from + count * 6;
    for (let k = 0; k < 6; k++) out[k] += (tracks[to + k] - out[k]) * share;
  }
  return out;
}

function asText(m) {
  const move = shot.decimals;
  return `matrix(${m[0].toFixed(5)} ${m[1].toFixed(5)} ${m[2].toFixed(5)} ` +
    `${m[3].toFixed(5)} ${m[4].toFixed(move)} ${m[5].toFixed(move)})`;
}

function setTransform(node, text) {
  if (drawnTransforms.get(node) === text) return;
  drawnTransforms.set(node, text);
  node.setAttribute("transform", text);
}

function runAt(time) {
  let run = 0;
  while (run + 1 < shot.orders.length && shot.orders[run + 1].frame <= time) run++;
  return run;
}

// Depth view: every piece on its own sheet, sheets leaning back and set apart by depth.
const [winX, winY, winW, winH] = shot.window;
const LEAN = { along: 0.62, rise: -0.2 };
function sheetAt(rank) {
  const share = nPieces > 1 ? rank / (nPieces - 1) : 0;
  return [
    LEAN.along, LEAN.rise, 0, 1,
    winX + share * winW * 0.95 - LEAN.along * winX,
    share * winH * 0.42 - LEAN.rise * winX,
  ];
}
function multiply(a, b) {
  return [
    a[0] * b[0] + a[2] * b[1], a[1] * b[0] + a[3] * b[1],
    a[0] * b[2] + a[2] * b[3], a[1] * b[2] + a[3] * b[3],
    a[0] * b[4] + a[2] * b[5] + a[4], a[1] * b[4] + a[3] * b[5] + a[5],
  ];
}
// Names stand beside the sheets in as many columns as keep them legible.
const ROWS_PER_COLUMN = 24;
const nColumns = Math.ceil(nPieces / ROWS_PER_COLUMN);
const nRows = Math.ceil(nPieces / nColumns);
const spreadHigh = winH * 1.42 - LEAN.rise * winW;
const namePitch = spreadHigh / (nRows + 1);
const nameSize = Math.min(namePitch * 0.8, spreadHigh / 30);
const nameWide = nameSize * (3 + 0.58 * Math.max(...shot.pieces.map((p) => p.id.length)));
const namesFrom = winX + winW * 1.6;
const spreadWindow = [
  winX, winY + LEAN.rise * winW, winW * 1.6 + nColumns * nameWide, spreadHigh,
];

function pieceMoment(view, index, time, rank) {
  const own = momentOf(pieceTracks, nPieces, index, time);
  return view.isSpread ? multiply(sheetAt(rank), own) : own;
}

function drawStage(view) {
  const run = runAt(view.time);
  const order = shot.orders[run].pieces;
  if (run !== drawnOrder) {
    if (drawnOrder >= 0) byId("pieces").append(...order.map((i) => pieceNodes[i]));
    drawnOrder = run;
  }
  const moments = new Array(nPieces);
  order.forEach((index, rank) => {
    moments[index] = pieceMoment(view, index, view.time, rank);
    setTransform(pieceNodes[index], asText(moments[index]));
  });
  boneNodes.forEach((node, index) => {
    const own = momentOf(boneTracks, boneNodes.length, index, view.time);
    setTransform(node, asText(view.isSpread ? multiply(sheetAt(0), own) : own));
  });
  drawSkins(view);
  drawLit(view, moments);
  moveArc(view);
  if (view.isSpread) drawLabels(view, order, moments);
}

function showWindow(view) {
  const box = view.isSpread ? spreadWindow : shot.window;
  stage.setAttribute("viewBox", box.join(" "));
  byId("ground").style.display = view.isSpread ? "none" : "";
  byId("arc").style.display = view.isSpread || !view.hasArc ? "none" : "";
  byId("glass").replaceChildren();
  byId("labels").replaceChildren();
  if (!view.isSpread) return;
  for (let rank = 0; rank < nPieces; rank += nColumns) {
    const edge = `M${winX} ${winY}h${winW}v${winH}h${-winW}z`;
    make("path", { d: edge, transform: asText(sheetAt(rank)) }, byId("glass"));
  }
}

function drawSkins(view) {
  for (const [id, sign] of [["before", -1], ["after", 1]]) {
    const layer = byId(id);
    const wanted = view.isSpread ? 0 : view.nSkins;
    while (layer.childElementCount > wanted) layer.lastChild.remove();
    while (layer.childElementCount < wanted) {
      const skin = make("g", {}, layer);
      for (const piece of shot.pieces) make("path", { d: piece.outline }, skin);
    }
    [...layer.children].forEach((skin, k) => {
      const time = Math.floor(view.time) + sign * (k + 1) * view.skinGap;
      const isThere = time >= 0 && time <= lastFrame;
      skin.style.display = isThere ? "" : "none";
      if (!isThere) return;
      [...skin.children].forEach((path, index) => {
        setTransform(path, asText(momentOf(pieceTracks, nPieces, index, time)));
      });
    });
  }
}

function remakeLit(view) {
  const layer = byId("lit");
  layer.replaceChildren();
  const ring = (kind, index, name) => {
    const d = kind === "piece" ? shot.pieces[index].outline : boneNodes[index].getAttribute("d");
    make("path", { d, class: name, "data-kind": kind, "data-index": index }, layer);
  };
  for (const [kind, index] of view.broken) ring(kind, index, "lit broken");
  if (view.chosen >= 0) ring("piece", view.chosen, "lit");
}

function drawLit(view, moments) {
  for (const node of byId("lit").children) {
    const index = Number(node.dataset.index);
    const isPiece = node.dataset.kind === "piece";
    setTransform(node, asText(isPiece ? moments[index]
      : momentOf(boneTracks, boneNodes.length, index, view.time)));
  }
}

function remakeArc(view) {
  const layer = byId("arc");
  layer.replaceChildren();
  if (view.chosen < 0) return;
  const spots = [];
  for (let frame = 0; frame <= lastFrame; frame++) {
    const m = momentOf(pieceTracks, nPieces, view.chosen, frame);
    spots.push([m[4], m[5]]);
  }
  const text = spots.map(([x, y]) => `${x.toFixed(shot.decimals)} ${y.toFixed(shot.decimals)}`);
  make("path", { d: "M" + text.join("L") }, layer);
  const size = Math.max(winW, winH) / 260;
  const { start, end } = shot.pieces[view.chosen];
  spots.forEach(([cx, cy], frame) => {
    const isKey = frame === start || frame === end;
    make("circle", { cx, cy, r: isKey ? size * 1.8 : size * 0.8 }, layer);
  });
  make("circle", { r: size * 1.7, class: "now" }, layer);
}

function moveArc(view) {
  const now = byId("arc").querySelector(".now");
  if (!now) return;
  const m = momentOf(pieceTracks, nPieces, view.chosen, view.time);
  now.setAttribute("cx", m[4]);
  now.setAttribute("cy", m[5]);
}

function drawLabels(view, order, moments) {
  const names = [];
  order.forEach((index, rank) => {
    const isChosen = index === view.chosen;
    const name = isChosen ? "chosen" : "";
    const x = namesFrom + nameWide * Math.floor(rank / nRows);
    const y = spreadWindow[1] + namePitch * ((rank % nRows) + 1);
    const [atX, atY] = moments[index].slice(4);
    // Many leaders are a thicket: then the number on the sheet leads to its name.
    if (nColumns === 1 || isChosen)
      names.push(make("path", { class: name,
        d: `M${atX} ${atY}L${x - nameSize * 0.4} ${y - nameSize * 0.3}` }));
    else names.push(label(String(rank + 1), "mark", atX, atY, nameSize * 0.8));
    names.push(label(`${rank + 1}  ${shot.pieces[index].id}`, name, x, y, nameSize));
  });
  byId("labels").replaceChildren(...names);
}

function label(words, name, x, y, size) {
  const text = make("text", { class: name, x, y, "font-size": size });
  text.textContent = words;
  return text;
}
