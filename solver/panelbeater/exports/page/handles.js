// Seven handles on the stage: drag them, or focus one and use the arrow keys.
const HANDLES = [
  ["arm_l", "left hand"], ["arm_r", "right hand"], ["leg_l", "left foot"],
  ["leg_r", "right foot"], ["waist", "waist"], ["torso", "torso"], ["head", "head"],
];
const DEGREES = 180 / Math.PI;
const HANDLE_PX = 14;
const STEP_SHARE = 0.01; // of the figure's height
const SPREAD_PX = 26;
const handleNodes = {};
const sideOf = (name) => (name.endsWith("_l") ? "l" : name.endsWith("_r") ? "r" : "middle");

function buildHandles(view, ask) {
  const layer = byId("handles");
  make("path", { id: "links" }, layer);
  for (const [name, words] of HANDLES) {
    const isAimed = name === "torso" || name === "head";
    const node = make("g", {
      class: "handle", tabindex: 0, role: "slider", "data-name": name, "data-side": sideOf(name),
      "aria-label": `${words} handle, arrow keys ${isAimed ? "turn" : "move"} it`,
      "aria-valuemin": -10000, "aria-valuemax": 10000,
    }, layer);
    make("circle", { class: "grip", r: HANDLE_PX }, node);
    if (name === "waist") make("path", { d: "M-5 0H5M0 -5V5" }, node);
    else if (isAimed) make("path", { d: "M-5 2A5.5 5.5 0 0 1 5 2M5 2l-4 -.6M5 2l.8 -4" }, node);
    else make("circle", { class: "dot", r: 4 }, node);
    make("title", {}, node).textContent = words;
    node.addEventListener("pointerdown", (event) => grab(event, name, node, view, ask));
    // touch-action alone does not hold the page still under every drawn shape.
    node.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
    node.addEventListener("keydown", (event) => nudge(event, name, view, ask));
    handleNodes[name] = node;
  }
}

function stagePoint(event) {
  const point = new DOMPoint(event.clientX, event.clientY);
  return point.matrixTransform(stage.getScreenCTM().inverse());
}

function grab(event, name, node, view, ask) {
  if (event.button) return;
  event.preventDefault();
  event.stopPropagation();
  setPlaying(false);
  node.focus({ preventScroll: true, focusVisible: false });
  node.setPointerCapture(event.pointerId);
  node.classList.add("held");
  const kept = { root: [...changes.root], turns: changes.turns.slice() };
  const from = stagePoint(event);
  const [x, y] = handleAt(name, now.pose, now.bones);
  const follow = (moved) => {
    const to = stagePoint(moved);
    moveHandle(name, x + to.x - from.x, y + to.y - from.y, view.time, byId("keep-feet").checked);
    ask();
  };
  const giveUp = (pressed) => {
    if (pressed.key !== "Escape") return;
    changes.root = kept.root;
    changes.turns = kept.turns;
    touch();
    letGo();
  };
  const letGo = () => {
    node.classList.remove("held");
    node.removeEventListener("pointermove", follow);
    node.removeEventListener("pointerup", letGo);
    node.removeEventListener("pointercancel", letGo);
    document.removeEventListener("keydown", giveUp);
    ask();
  };
  node.addEventListener("pointermove", follow);
  node.addEventListener("pointerup", letGo);
  node.addEventListener("pointercancel", letGo);
  document.addEventListener("keydown", giveUp);
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function nudge(event, name, view, ask) {
  const way = ARROWS[event.key];
  if (!way || event.altKey || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  event.stopPropagation();
  setPlaying(false);
  const times = event.shiftKey ? 5 : 1;
  if (name === "torso" || name === "head") {
    turnBy(boneAt(name), times * (way[0] || way[1]) * 2 / DEGREES);
    touch();
  } else {
    const moment = momentAt(view.time);
    const [x, y] = handleAt(name, moment.pose, moment.bones);
    const step = times * STEP_SHARE * shot.rig.height;
    moveHandle(name, x + way[0] * step, y + way[1] * step, view.time, byId("keep-feet").checked);
  }
  ask();
}

function sayWhere(node, name, [x, y]) {
  const isAimed = name === "torso" || name === "head";
  const turned = isAimed ? Math.round(changes.turns[boneAt(name)] * DEGREES) : 0;
  const words = isAimed ? `turned ${turned} degrees from the action`
    : `${inShort(x)} across, ${inShort(y)} down`;
  if (node.getAttribute("aria-valuetext") === words) return;
  node.setAttribute("aria-valuetext", words);
  node.setAttribute("aria-valuenow", isAimed ? turned : inShort(x));
}

// Where several handles meet, as in the fold, each is shown a little aside on a stalk.
function spread(spots) {
  const gap = SPREAD_PX * unitsPerPixel;
  const shown = spots.map((spot) => [...spot]);
  for (let round = 0; round < 12; round++)
    for (let i = 0; i < shown.length; i++)
      for (let j = 0; j < i; j++) {
        const dx = shown[i][0] - shown[j][0] || 1e-3 * (i - j), dy = shown[i][1] - shown[j][1];
        const far = Math.hypot(dx, dy);
        if (far >= gap) continue;
        const push = (gap - far) / far / 2;
        shown[i][0] += dx * push; shown[i][1] += dy * push;
        shown[j][0] -= dx * push; shown[j][1] -= dy * push;
      }
  return shown;
}

function drawHandles(view) {
  const layer = byId("handles");
  const isShown = view.hasHandles && !view.isSpread && !playing.isOn;
  layer.style.display = isShown ? "" : "none";
  if (!isShown) return;
  const spots = HANDLES.map(([name]) => handleAt(name, now.pose, now.bones));
  const shown = spread(spots);
  const joint = (bone) => `${now.bones[3 * bone]} ${now.bones[3 * bone + 1]}`;
  let lines = "";
  for (const name in LIMBS) lines += `M${LIMBS[name].map(joint).join("L")}`;
  HANDLES.forEach(([name], k) => {
    if (!LIMBS[name]) lines += `M${joint(boneAt(name))}L${spots[k].join(" ")}`;
    lines += `M${spots[k].join(" ")}L${shown[k].join(" ")}`;
    const node = handleNodes[name];
    const [x, y] = shown[k];
    const at = [x, y].map((v) => v.toFixed(shot.decimals + 1)).join(" ");
    setTransform(node, `translate(${at}) scale(${unitsPerPixel.toFixed(5)})`);
    sayWhere(node, name, spots[k]);
  });
  byId("links").setAttribute("d", lines);
}
