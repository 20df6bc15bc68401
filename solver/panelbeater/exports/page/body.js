// The body panel: the action on or off, every joint by number, and ways back.
const JOINTS = {
  arm: ["shoulder", "elbow", "wrist"], leg: ["hip", "knee", "ankle"],
  waist: ["hips"], torso: ["trunk"], head: ["neck"],
};
const dials = [];

function buildBody(view, ask) {
  const box = byId("joints");
  const changed = () => { touch(); ask(); };
  for (const limb of shot.limbs) {
    const name = limb.controller;
    const group = element("fieldset", {}, element("legend", {}, limb.name));
    const add = (words, range, read, write) => {
      const made = dial(words, `${limb.name} ${words}`, range, (value) => {
        setPlaying(false);
        write(value);
        changed();
      });
      dials.push({ show: made.show, read });
      group.append(made.row);
    };
    if (name === "waist") ["across", "down"].forEach((words, axis) => {
      const height = shot.rig.height;
      add(words, { low: -100, high: 100, step: 1, unit: "per cent of the height" },
        () => changes.root[axis] / height * 100,
        (value) => moveRoot(axis, value / 100 * height, view.time));
    });
    const bones = shot.rig.controllers.flatMap((controller, bone) =>
      (controller === name ? [bone] : []));
    bones.forEach((bone, k) => {
      const words = (JOINTS[name.slice(0, 3)] || JOINTS[name])[k];
      add(words, { low: -180, high: 180, step: 1, unit: "degrees" },
        () => changes.turns[bone] * DEGREES,
        (value) => { changes.turns[bone] = value / DEGREES; });
    });
    group.append(bodyButtons(view, name, limb.name, changed));
    box.append(group);
  }
  byId("body-action").addEventListener("change", (event) => {
    setAction(event.target.checked, view.time);
    changed();
  });
  byId("stand").addEventListener("click", () => standStill(rest, "standing", changed));
  byId("crouch").addEventListener("click", () => standStill(fold, "folded", changed));
  byId("reset-body").addEventListener("click", () => {
    for (const limb of shot.limbs) resetController(limb.controller);
    setAction(true, view.time);
    say("body follows its action again");
    changed();
  });
}

function moveRoot(axis, value, time) {
  const bones = placeBones(poseAt(time));
  const to = [bones[0], bones[1]];
  to[axis] += value - changes.root[axis];
  moveWaist(to[0], to[1], time, byId("keep-feet").checked);
}

function bodyButtons(view, name, words, changed) {
  const row = element("div", { className: "buttons" });
  const button = (text, spoken, act) => {
    const node = element("button", { type: "button" }, text);
    node.setAttribute("aria-label", spoken);
    node.addEventListener("click", () => {
      act();
      say(spoken);
      changed();
    });
    row.append(node);
  };
  if (LIMBS[name]) button("Bend other way", `bend ${words} the other way`,
    () => bendOtherWay(name, view.time));
  button("Reset", `reset ${words}`, () => resetController(name));
  return row;
}

// Off: the body stands still in the pose it shows, so that nothing jumps.
function setAction(isOn, time) {
  changes.held = isOn ? null : actionAt(time);
  byId("body-action").checked = isOn;
  byId("body-state").textContent = isOn
    ? "The body follows its planned action; what you change is added to every frame."
    : "The body stands still; the armour still follows the master.";
}

function standStill(pose, words, changed) {
  changes.root = [0, 0];
  changes.turns.fill(0);
  setAction(false, 0);
  changes.held = copyPose(pose);
  say(`body ${words}, its action is off`);
  changed();
}

let dialsShown = -1;
function drawBody() {
  if (dialsShown === changes.version) return;
  dialsShown = changes.version;
  for (const { show, read } of dials) show(read());
}
