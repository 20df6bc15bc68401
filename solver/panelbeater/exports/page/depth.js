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
// Names stand beside the sheets in as many columns as keep them legible.
const ROWS_PER_COLUMN = 24;
const nColumns = Math.max(Math.ceil(nPieces / ROWS_PER_COLUMN), 1);
const nRows = Math.ceil(nPieces / nColumns);
const spreadHigh = winH * 1.42 - LEAN.rise * winW;
const namePitch = spreadHigh / (nRows + 1);
const nameSize = Math.min(namePitch * 0.8, spreadHigh / 30);
const nameWide = nameSize * (3 + 0.58 * Math.max(...shot.pieces.map((p) => p.id.length)));
const namesFrom = winX + winW * 1.6;
const spreadWindow = [
  winX, winY + LEAN.rise * winW, winW * 1.6 + nColumns * nameWide, spreadHigh,
];

function drawGlass() {
  for (let rank = 0; rank < nPieces; rank += nColumns) {
    const edge = `M${winX} ${winY}h${winW}v${winH}h${-winW}z`;
    make("path", { d: edge, transform: asText(sheetAt(rank)) }, byId("glass"));
  }
}

// Names are written when order or choice change; between, only what leads to them moves.
let labelsFor = "";
let leaders = [];
function drawLabels(view, order, shown) {
  const key = `${drawnOrder}:${view.chosen}`;
  if (key !== labelsFor || !byId("labels").childElementCount) writeLabels(view, order);
  labelsFor = key;
  order.forEach((index, rank) => leaders[rank](shown[index][4], shown[index][5]));
}

function writeLabels(view, order) {
  const names = [];
  leaders = order.map((index, rank) => {
    const isChosen = index === view.chosen;
    const name = isChosen ? "chosen" : "";
    const x = namesFrom + nameWide * Math.floor(rank / nRows);
    const y = spreadWindow[1] + namePitch * ((rank % nRows) + 1);
    names.push(label(`${rank + 1}  ${shot.pieces[index].id}`, name, x, y, nameSize));
    // Many leaders are a thicket: then the number on the sheet leads to its name.
    if (nColumns > 1 && !isChosen) {
      const mark = label(String(rank + 1), "mark", 0, 0, nameSize * 0.8);
      names.push(mark);
      return (atX, atY) => { mark.setAttribute("x", atX); mark.setAttribute("y", atY); };
    }
    const leader = make("path", { class: name });
    names.push(leader);
    const end = `L${x - nameSize * 0.4} ${y - nameSize * 0.3}`;
    return (atX, atY) => leader.setAttribute("d", `M${atX} ${atY}${end}`);
  });
  byId("labels").replaceChildren(...names);
}

function label(words, name, x, y, size) {
  const text = make("text", { class: name, x, y, "font-size": size });
  text.textContent = words;
  return text;
}
