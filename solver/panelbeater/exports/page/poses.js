// Poses to keep: save the body as a small file for the next plan, or hold it here.
const kept = [];

// The whole body at a frame; `frame` counts from 0, turns are radians from standing.
function poseFile(pose, frame, isWhole) {
  const byBone = (values) => {
    const out = {};
    shot.rig.bones.forEach((name, bone) => {
      if (isWhole || changes.turns[bone] !== 0) out[name] = values(bone);
    });
    return out;
  };
  const isMoved = isWhole || changes.root.some((part) => part !== 0);
  return {
    format: "panelbeater-pose", version: 1, frame,
    ...(isMoved ? { root: [...pose.root] } : {}),
    turns: byBone((bone) => wrapped(pose.turns[bone] - rest.turns[bone])),
    scales: byBone((bone) => [...pose.scales.subarray(2 * bone, 2 * bone + 2)]),
  };
}

function poseOf(file) {
  const pose = actionAt(file.frame);
  if (file.root) pose.root.set(file.root);
  for (const name in file.turns) pose.turns[boneAt(name)] = rest.turns[boneAt(name)] + file.turns[name];
  for (const name in file.scales || {}) pose.scales.set(file.scales[name], 2 * boneAt(name));
  return pose;
}

function checkPose(file) {
  const areNumbers = (values, n) => Array.isArray(values) && values.length === n &&
    values.every(Number.isFinite);
  if (!file || file.format !== "panelbeater-pose") throw new Error("not a pose saved from here");
  if (file.version !== 1) throw new Error(`a pose of version ${file.version}; this page reads 1`);
  if (!Number.isInteger(file.frame) || file.frame < 0 || file.frame > lastFrame)
    throw new Error(`its frame must be a whole number from 0 to ${lastFrame}`);
  if (file.root !== undefined && !areNumbers(file.root, 2)) throw new Error("its root must be two numbers");
  for (const part of ["turns", "scales"])
    for (const [name, value] of Object.entries(file[part] || {})) {
      if (boneAt(name) < 0) throw new Error(`no bone ${name}; there are ${shot.rig.bones.join(", ")}`);
      if (part === "turns" ? !Number.isFinite(value) : !areNumbers(value, 2))
        throw new Error(`${part} of ${name} must be numbers`);
    }
  return file;
}

function buildPoses(view, ask) {
  byId("keep-pose").addEventListener("click", () => {
    setPlaying(false);
    const frame = Math.floor(view.time + 1e-6);
    const file = poseFile(poseAt(frame), frame, byId("pose-extent").value === "whole");
    keepPose({ name: freshName(`pose-${frame + 1}`), file }, view, ask);
  });
  byId("open-pose").addEventListener("change", async (event) => {
    for (const chosen of event.target.files) {
      try {
        const file = checkPose(JSON.parse(await chosen.text()));
        keepPose({ name: freshName(chosen.name.replace(/\.json$/i, "")), file }, view, ask);
      } catch (error) {
        byId("pose-note").textContent = `${chosen.name}: ${error.message}`;
      }
    }
    event.target.value = "";
  });
}

function freshName(wish) {
  const taken = new Set(kept.map(({ name }) => name));
  let name = wish, k = 2;
  while (taken.has(name)) name = `${wish}-${k++}`;
  return name;
}

function keepPose(pose, view, ask) {
  kept.push(pose);
  kept.sort((a, b) => a.file.frame - b.file.frame);
  say(`kept ${pose.name}, frame ${pose.file.frame + 1}`);
  listPoses(view, ask);
}

function listPoses(view, ask) {
  const rows = kept.map((pose) => {
    const { name, file } = pose;
    const button = (text, act) => {
      const node = element("button", { type: "button" }, text);
      node.setAttribute("aria-label", `${text} ${name}`);
      node.addEventListener("click", act);
      return node;
    };
    return element("li", {}, element("span", {}, element("b", {}, name), ` frame ${file.frame + 1}`),
      button("Show", () => showPose(file, ask)),
      button("Save", () => savePose(name, file)),
      button("Drop", () => {
        kept.splice(kept.indexOf(pose), 1);
        say(`dropped ${name}`);
        listPoses(view, ask);
        byId("keep-pose").focus();
      }));
  });
  byId("pose-list").replaceChildren(...rows);
  const [low, high] = shot.rig.keyable;
  const outside = kept.filter(({ file }) => file.frame < low || file.frame > high);
  byId("pose-note").textContent = outside.length
    ? `${outside.map(({ name }) => name).join(", ")}: the next plan takes key poses at frames ` +
      `${low + 1}-${high + 1} only; before and after, the drawings hold.` : "";
  byId("pose-brief").hidden = !kept.length;
  byId("pose-line").textContent =
    `poses = [${kept.map(({ name }) => `"${name}.json"`).join(", ")}]`;
}

function showPose(file, ask) {
  changes.root = [0, 0];
  changes.turns.fill(0);
  setAction(false, file.frame);
  changes.held = poseOf(file);
  touch();
  goTo(file.frame);
  ask();
}

function savePose(name, file) {
  const url = URL.createObjectURL(
    new Blob([`${JSON.stringify(file, null, 1)}\n`], { type: "application/json" }));
  element("a", { href: url, download: `${name}.json` }).click();
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}
