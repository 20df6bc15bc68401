// The stage: pieces and bones at a moment, in the order of that moment.
const SVG = "http://www.w3.org/2000/svg";
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

const pieceOf = (moment, index) => moment.pieces.subarray(6 * index, 6 * index + 6);

function runAt(time, orders = shot.orders) {
  let run = 0;
  while (run + 1 < orders.length && orders[run + 1].frame <= time) run++;
  return run;
}

// What the stage shows now; handles, graphs and panels read it too.
let now = null;

function drawStage(view) {
  const run = runAt(view.time);
  const order = shot.orders[run].pieces;
  if (run !== drawnOrder) {
    if (drawnOrder >= 0) byId("pieces").append(...order.map((i) => pieceNodes[i]));
    drawnOrder = run;
  }
  now = momentAt(view.time);
  const shown = new Array(nPieces);
  order.forEach((index, rank) => {
    const own = pieceOf(now, index);
    shown[index] = view.isSpread ? multiply(sheetAt(rank), own) : own;
    setTransform(pieceNodes[index], asText(shown[index]));
    drawShape(shapes[index], view.time - offsetOf(index));
  });
  boneNodes.forEach((node, bone) => setTransform(node, asText(bodyMatrix(view, bone))));
  drawSkins(view);
  drawLit(view, shown);
  moveArc(view);
  drawHands(view);
  drawHandles(view);
  drawAlternates(view);
  if (view.isSpread) drawLabels(view, order, shown);
}

function bodyMatrix(view, bone) {
  const own = placeBody(now.pose, now.bones, bone);
  return view.isSpread ? multiply(sheetAt(0), own) : own;
}

// Stage units in one screen pixel, so that handles keep their size; measured when the
// stage changes its size, not at every frame.
let unitsPerPixel = 1;
function measureStage() {
  const matrix = stage.getScreenCTM();
  if (matrix && matrix.a) unitsPerPixel = 1 / Math.hypot(matrix.a, matrix.b);
}

// A body that is being posed needs room to reach out of the planned shot.
const ROOM = 0.14;
const roomyWindow = [
  winX - ROOM * winW, winY - ROOM * winH, winW * (1 + 2 * ROOM), winH * (1 + 1.5 * ROOM),
];

function showWindow(view) {
  const isPosed = view.hasHandles || changes.held;
  const asPlanned = view.isShared ? shot.alternates.window : shot.window;
  const box = view.isSpread ? spreadWindow : isPosed ? roomyWindow : asPlanned;
  if (stage.getAttribute("viewBox") === box.join(" ")) return;
  stage.setAttribute("viewBox", box.join(" "));
  byId("ground").style.display = view.isSpread ? "none" : "";
  byId("arc").style.display = view.isSpread ? "none" : "";
  byId("glass").replaceChildren();
  byId("labels").replaceChildren();
  measureStage();
  if (view.isSpread) drawGlass();
}
