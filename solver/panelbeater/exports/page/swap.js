// Hands to put on: ours, open or fist, in the colours of the armour, or the animator's own.
// Drawn along the x axis: wrist at 0, 0, longest finger near 100, thumb towards negative y.
const HAND_DRAWINGS = {
  open: {
    fill: "M-8 -20C4 -25 16 -25 26 -23L40 -44C46 -52 60 -47 56 -37L47 -17L82 -21" +
      "C93 -22 95 -9 85 -7L92 -6C102 -5 102 7 92 8L86 9C95 12 92 23 83 21L72 19" +
      "C79 25 73 33 65 30L36 25C22 28 6 25 -8 20Z",
    lines: "M50 -6L84 -7M51 5L86 8M48 16L74 19M30 -20C36 -14 40 -12 47 -17",
    shade: "M-8 20L-8 8C12 14 40 12 62 6L86 9C95 12 92 23 83 21L72 19C79 25 73 33 65 30" +
      "L36 25C22 28 6 25 -8 20Z",
  },
  fist: {
    fill: "M-8 -20C8 -26 24 -28 36 -27C50 -30 64 -26 65 -16C71 -13 71 -3 66 -1" +
      "C71 3 70 12 64 14C67 20 62 28 52 27C36 30 10 27 -8 20Z",
    lines: "M38 -14L65 -16M40 -1L66 -1M40 13L64 14M24 -19C34 -24 46 -16 43 -6" +
      "C41 1 31 2 24 -2",
    shade: "M-8 20L-8 8C14 14 44 12 66 2C70 6 70 12 64 14C67 20 62 28 52 27C36 30 10 27 -8 20Z",
  },
};
const CUFF = "M-12 -24C-8 -26 2 -26 6 -24L6 24C2 26 -8 26 -12 24Z";
const HAND_SIZE = 1.35; // of the hand bone: a bare hand reads smaller than armour
const own = { drawing: null, name: "" };
const hands = { hand_l: "none", hand_r: "none" };
const handFit = { turn: 0, size: 100 };
const handNodes = {};

// The colour of the panel that the hand or the arm above it wears: glass makes no gloves.
function handColour(name) {
  for (const isWanted of [(piece) => piece.kind === "panel", () => true])
    for (let bone = boneAt(name); bone >= 0; bone = parents[bone]) {
      const worn = tracks.findIndex((track, index) =>
        track.bone === bone && isWanted(shot.pieces[index]));
      if (worn >= 0) return shot.pieces[worn].colour;
    }
  return "#8a9299";
}

function shade(colour, share) {
  const parts = [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16));
  if (parts.some(Number.isNaN)) return "#333333";
  return `rgb(${parts.map((part) => Math.round(part * share)).join(" ")})`;
}

function buildHands(ask) {
  for (const name of ["hand_l", "hand_r"]) {
    handNodes[name] = make("g", { class: "hand", "data-name": name }, byId("hands"));
    byId(name).addEventListener("change", (event) => {
      hands[name] = event.target.value;
      remakeHand(name);
      ask();
    });
  }
  byId("own-hand").addEventListener("change", (event) => readOwn(event.target, ask));
  byId("hand-turn").addEventListener("change", (event) => {
    handFit.turn = Number(event.target.value) || 0;
    ask();
  });
  byId("hand-size").addEventListener("change", (event) => {
    handFit.size = Math.min(Math.max(Number(event.target.value) || 100, 10), 1000);
    ask();
  });
}

async function readOwn(input, ask) {
  const file = input.files[0];
  if (!file) return;
  const note = byId("own-note");
  try {
    own.drawing = cleanDrawing(await file.text(), "own-");
  } catch (error) {
    note.textContent = `${file.name}: ${error.message}`;
    return;
  }
  own.name = file.name;
  note.textContent = `${file.name} is ready; its wrist is taken to be at the middle of the left edge.`;
  for (const name in hands) {
    const choices = byId(name);
    choices.querySelector("[value=own]").disabled = false;
    if (hands[name] === "none") choices.value = hands[name] = "own";
    remakeHand(name);
  }
  byId("own-fit").hidden = false;
  ask();
}

function remakeHand(name) {
  const node = handNodes[name];
  node.replaceChildren();
  if (hands[name] === "own" && own.drawing) {
    const copy = own.drawing.cloneNode(true);
    node.append(copy);
    const box = copy.getBBox();
    const scale = 100 / Math.max(box.width, box.height, 1e-9);
    copy.setAttribute("transform",
      `scale(${scale}) translate(${-box.x} ${-box.y - box.height / 2})`);
  } else if (HAND_DRAWINGS[hands[name]]) {
    const drawn = HAND_DRAWINGS[hands[name]];
    const colour = handColour(name), edge = shade(colour, 0.25);
    const line = { fill: "none", stroke: edge, "stroke-width": 3.4, "stroke-linejoin": "round",
      "stroke-linecap": "round" };
    make("path", { d: drawn.fill, fill: colour }, node);
    make("path", { d: drawn.shade, fill: shade(colour, 0.8) }, node);
    make("path", { ...line, d: drawn.fill }, node);
    make("path", { ...line, d: drawn.lines }, node);
    make("path", { ...line, d: CUFF, fill: shade(colour, 0.55) }, node);
  }
}

// A hand is put on once the last piece that rides its bone has landed.
function handFrom(name) {
  const bone = boneAt(name);
  return tracks.reduce((last, track, index) =>
    (track.bone === bone ? Math.max(last, track.end + offsetOf(index)) : last),
  (lastFrame + shot.rig.keyable[0]) / 2);
}

function drawHands(view) {
  for (const name in hands) {
    const node = handNodes[name];
    const isShown = hands[name] !== "none" && !view.isSpread && view.time >= handFrom(name);
    node.style.display = isShown ? "" : "none";
    if (!isShown) continue;
    const bone = boneAt(name);
    const angle = now.bones[3 * bone + 2] + (hands[name] === "own" ? handFit.turn / DEGREES : 0);
    const fit = hands[name] === "own" ? handFit.size / 100 : 1;
    const size = HAND_SIZE * fit * lengths[bone] * now.pose.scales[2 * bone] / 100;
    // The thumb points towards the body: the left hand is the right one turned over.
    const over = name === "hand_l" ? -size : size;
    const cos = Math.cos(angle), sin = Math.sin(angle);
    setTransform(node, asText([cos * size, sin * size, -sin * over, cos * over,
      now.bones[3 * bone], now.bones[3 * bone + 1]]));
  }
}
