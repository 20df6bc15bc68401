// What the animator changed: the body on top of its action or of a held pose, and offsets.
const changes = {
  held: null, // the pose the body stands still in while its action is off
  root: [0, 0],
  turns: new Float64Array(nBones),
  later: new Float64Array(nPieces), // frames a piece runs after the master
  laterLimb: {}, // the same for everything that rides a limb
  version: 0,
};
for (const limb of shot.limbs) changes.laterLimb[limb.controller] = 0;
const limbOf = tracks.map((track) => shot.rig.controllers[track.bone]);
const offsetOf = (index) => changes.later[index] + changes.laterLimb[limbOf[index]];
const touch = () => { changes.version += 1; };

const basePose = (time) => (changes.held ? copyPose(changes.held) : actionAt(time));

function poseAt(time) {
  const pose = basePose(time);
  pose.root[0] += changes.root[0];
  pose.root[1] += changes.root[1];
  for (let bone = 0; bone < nBones; bone++) pose.turns[bone] += changes.turns[bone];
  return pose;
}

// Everything on the stage at a moment: the pose, three numbers a bone, six a piece.
function momentAt(time) {
  const pose = poseAt(time);
  const bones = placeBones(pose);
  const pieces = new Float64Array(6 * nPieces);
  for (let index = 0; index < nPieces; index++)
    placePiece(pieces, 6 * index, bones, tracks[index], time - offsetOf(index));
  return { pose, bones, pieces };
}

const wrapped = (angle) => angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));

function turnBy(bone, angle) {
  changes.turns[bone] = wrapped(changes.turns[bone] + angle);
}

const LIMBS = {
  arm_l: ["upper_arm_l", "forearm_l", "hand_l"], arm_r: ["upper_arm_r", "forearm_r", "hand_r"],
  leg_l: ["thigh_l", "shank_l", "foot_l"], leg_r: ["thigh_r", "shank_r", "foot_r"],
};
for (const name in LIMBS) LIMBS[name] = LIMBS[name].map(boneAt);

// The two links of a limb as the pose foreshortens them: lengths, leans, and the bend
// between them, positive when the lower link turns x towards y.
function linksOf(pose, limb) {
  const [upper, lower, tip] = LIMBS[limb];
  const vector = (bone, parent) => [
    offsets[2 * bone] * pose.scales[2 * parent],
    offsets[2 * bone + 1] * pose.scales[2 * parent + 1],
  ];
  const [ax, ay] = vector(lower, upper);
  const [bx, by] = vector(tip, lower);
  const lean = Math.atan2(by, bx) - Math.atan2(ay, ax);
  return {
    a: Math.hypot(ax, ay), b: Math.hypot(bx, by), leanA: Math.atan2(ay, ax), lean,
    bend: wrapped(pose.turns[lower] + lean),
  };
}

// Two-bone inverse kinematics by the law of cosines. A limb that cannot reach points there;
// a foot keeps its turn on the stage, a hand keeps its turn on the forearm.
function reach(limb, x, y, time, way = 0) {
  const [upper, lower, tip] = LIMBS[limb];
  const pose = poseAt(time);
  const bones = placeBones(pose);
  const { a, b, leanA, lean, bend } = linksOf(pose, limb);
  const dx = x - bones[3 * upper], dy = y - bones[3 * upper + 1];
  const far = Math.min(Math.max(Math.hypot(dx, dy), Math.abs(a - b) + 1e-9), a + b);
  const cosine = (far * far - a * a - b * b) / (2 * a * b);
  const side = way || (bend < 0 ? -1 : 1);
  const bent = side * Math.acos(Math.min(Math.max(cosine, -1), 1));
  const aim = Math.atan2(dy, dx) - Math.atan2(b * Math.sin(bent), a + b * Math.cos(bent));
  const parentAngle = bones[3 * parents[upper] + 2];
  turnBy(upper, aim - leanA - parentAngle - pose.turns[upper]);
  turnBy(lower, bent - lean - pose.turns[lower]);
  if (limb.startsWith("leg")) {
    const now = placeBones(poseAt(time));
    turnBy(tip, bones[3 * tip + 2] - now[3 * tip + 2]);
  }
}

function bendOtherWay(limb, time) {
  const pose = poseAt(time);
  const bones = placeBones(pose);
  const tip = LIMBS[limb][2];
  reach(limb, bones[3 * tip], bones[3 * tip + 1], time, linksOf(pose, limb).bend < 0 ? 1 : -1);
}

// Moves the hips; where asked, feet stay where they are and the legs close onto them.
function moveWaist(x, y, time, keepsFeet) {
  const before = placeBones(poseAt(time));
  changes.root[0] += x - before[0];
  changes.root[1] += y - before[1];
  if (!keepsFeet) return;
  for (const limb of ["leg_l", "leg_r"]) {
    const tip = LIMBS[limb][2];
    reach(limb, before[3 * tip], before[3 * tip + 1], time);
    const now = placeBones(poseAt(time));
    turnBy(tip, before[3 * tip + 2] - now[3 * tip + 2]);
  }
}

// Turns a bone so that its far end points at x, y.
function aimBone(bone, x, y, time) {
  const bones = placeBones(poseAt(time));
  const angle = Math.atan2(y - bones[3 * bone + 1], x - bones[3 * bone]);
  turnBy(bone, angle - bones[3 * bone + 2]);
}

// Where each of the seven handles is.
function handleAt(name, pose, bones) {
  const far = (bone) => {
    const angle = bones[3 * bone + 2], length = lengths[bone] * pose.scales[2 * bone];
    return [bones[3 * bone] + length * Math.cos(angle),
      bones[3 * bone + 1] + length * Math.sin(angle)];
  };
  if (name === "waist") return [bones[0], bones[1]];
  if (LIMBS[name]) return [...bones.subarray(3 * LIMBS[name][2], 3 * LIMBS[name][2] + 2)];
  return far(boneAt(name));
}

function moveHandle(name, x, y, time, keepsFeet) {
  if (name === "waist") moveWaist(x, y, time, keepsFeet);
  else if (LIMBS[name]) reach(name, x, y, time);
  else aimBone(boneAt(name), x, y, time);
  touch();
}

function resetController(name) {
  shot.rig.controllers.forEach((controller, bone) => {
    if (controller === name) changes.turns[bone] = 0;
  });
  if (name === "waist") changes.root = [0, 0];
  touch();
}

function resetOffsets() {
  changes.later.fill(0);
  for (const name in changes.laterLimb) changes.laterLimb[name] = 0;
  touch();
}
