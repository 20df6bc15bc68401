// The rig equation, as in rig/sample.py: stage_from_piece = stage_from_bone @ blend(u).
const shot = JSON.parse(document.getElementById("shot").textContent);
const nPieces = shot.pieces.length;
const lastFrame = shot.frames - 1;
const { parents, lengths } = shot.rig;
const nBones = parents.length;
const boneAt = (name) => shot.rig.bones.indexOf(name);
const asArrays = (pose) => ({
  root: Float64Array.from(pose.root),
  turns: Float64Array.from(pose.turns),
  scales: Float64Array.from(pose.scales),
});
const action = asArrays(shot.rig.action);
const rest = asArrays(shot.rig.rest);
const fold = asArrays(shot.rig.fold);
const offsets = Float64Array.from(shot.rig.offsets);
const bind = Float64Array.from(shot.rig.bind);
const asTrack = (ride) => ({
  bone: ride.rides, start: ride.start, end: ride.end,
  u: Float64Array.from(ride.keyU), keys: Float64Array.from(ride.keys),
});
const tracks = shot.pieces.map(asTrack);

const copyPose = (pose) => asArrays(pose);

// A planned body action; between whole frames joined by straight lines in joint angles.
function actionAt(time, planned = action) {
  const below = Math.min(Math.max(Math.floor(time), 0), Math.max(lastFrame - 1, 0));
  const above = Math.min(below + 1, lastFrame);
  const share = Math.min(Math.max(time - below, 0), 1);
  const mixed = (values, n) => {
    const out = new Float64Array(n);
    for (let k = 0; k < n; k++)
      out[k] = (1 - share) * values[below * n + k] + share * values[above * n + k];
    return out;
  };
  return {
    root: mixed(planned.root, 2), turns: mixed(planned.turns, nBones),
    scales: mixed(planned.scales, 2 * nBones),
  };
}

// Joints and angles, three numbers a bone: x, y, angle on the stage. A foreshortened
// parent carries its children's joints nearer.
function placeBones(pose) {
  const out = new Float64Array(3 * nBones);
  for (let bone = 0; bone < nBones; bone++) {
    const parent = parents[bone];
    if (parent < 0) {
      out.set([pose.root[0], pose.root[1], pose.turns[bone]], 3 * bone);
      continue;
    }
    const angle = out[3 * parent + 2];
    const x = offsets[2 * bone] * pose.scales[2 * parent];
    const y = offsets[2 * bone + 1] * pose.scales[2 * parent + 1];
    const cos = Math.cos(angle), sin = Math.sin(angle);
    out[3 * bone] = out[3 * parent] + cos * x - sin * y;
    out[3 * bone + 1] = out[3 * parent + 1] + sin * x + cos * y;
    out[3 * bone + 2] = angle + pose.turns[bone];
  }
  return out;
}

// Quintic ease of Flash & Hogan (1985), held outside [0, 1].
function minimumJerk(t) {
  const s = Math.min(Math.max(t, 0), 1);
  return s * s * s * (10 + s * (6 * s - 15));
}

// Six channels of a piece on its bone: x, y, turn, sxx, sxy, syy.
const channel = new Float64Array(6);
function blendAt(track, time) {
  const { u, keys } = track;
  const now = minimumJerk((time - track.start) / (track.end - track.start));
  let low = 0, high = u.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (u[middle] <= now) low = middle;
    else high = middle;
  }
  const span = u[high] - u[low];
  const share = span > 0 ? Math.min(Math.max((now - u[low]) / span, 0), 1) : 0;
  for (let k = 0; k < 6; k++)
    channel[k] = keys[6 * low + k] + (keys[6 * high + k] - keys[6 * low + k]) * share;
  return channel;
}

// stage_from_piece in the order of SVG's matrix(), six numbers written at `at`.
function placePiece(out, at, placed, track, time) {
  const [x, y, turn, sxx, sxy, syy] = blendAt(track, time);
  const bone = 3 * track.bone;
  const angle = placed[bone + 2];
  const cosBone = Math.cos(angle), sinBone = Math.sin(angle);
  const cos = Math.cos(angle + turn), sin = Math.sin(angle + turn);
  out[at] = cos * sxx - sin * sxy;
  out[at + 1] = sin * sxx + cos * sxy;
  out[at + 2] = cos * sxy - sin * syy;
  out[at + 3] = sin * sxy + cos * syy;
  out[at + 4] = placed[bone] + cosBone * x - sinBone * y;
  out[at + 5] = placed[bone + 1] + sinBone * x + cosBone * y;
}

function multiply(a, b) {
  return [
    a[0] * b[0] + a[2] * b[1], a[1] * b[0] + a[3] * b[1],
    a[0] * b[2] + a[2] * b[3], a[1] * b[2] + a[3] * b[3],
    a[0] * b[4] + a[2] * b[5] + a[4], a[1] * b[4] + a[3] * b[5] + a[5],
  ];
}

// stage_from_standing of one bone's bare body, foreshortening included.
function placeBody(pose, placed, bone) {
  const cos = Math.cos(placed[3 * bone + 2]), sin = Math.sin(placed[3 * bone + 2]);
  const along = pose.scales[2 * bone], across = pose.scales[2 * bone + 1];
  return multiply(
    [cos * along, sin * along, -sin * across, cos * across, placed[3 * bone],
      placed[3 * bone + 1]],
    bind.subarray(6 * bone, 6 * bone + 6),
  );
}
