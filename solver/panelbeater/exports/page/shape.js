// How pieces change besides moving, as in rig/sample.py and geometry/bending.py: a bend is
// reached bit by bit, a second drawing takes over at once, and what has vanished is gone.
const NUMBERS = /-?\d+(?:\.\d+)?(?:e-?\d+)?/g;

// Path data as its commands and its coordinates, x and y in turn.
function readPath(data) {
  return { words: data.split(NUMBERS), xy: Float64Array.from(data.match(NUMBERS) || [], Number) };
}

// Path data of a bent path; [x0, y0] is the drawn centroid in the path's coordinates.
function bentData({ words, xy }, [axis, curvature, taper], share, [x0, y0]) {
  const cos = Math.cos(axis), sin = Math.sin(axis);
  const k = share * curvature, wider = share * taper;
  const ratio = (angle) => (angle === 0 ? 1 : Math.sin(angle) / angle);
  let data = words[0];
  for (let at = 0; at < xy.length; at += 2) {
    const px = xy[at] - x0, py = xy[at + 1] - y0;
    const x = px * cos + py * sin, y = py * cos - px * sin;
    const wide = y * (1 + wider * x), turn = k * x;
    const along = x * ratio(turn) - wide * Math.sin(turn);
    const across = x * Math.sin(turn / 2) * ratio(turn / 2) + wide * Math.cos(turn);
    data += (x0 + along * cos - across * sin).toFixed(shot.decimals) + words[at + 1] +
      (y0 + along * sin + across * cos).toFixed(shot.decimals) + words[at + 2];
  }
  return data;
}

const shapes = shot.pieces.map((piece, index) => {
  if (!piece.bend && piece.swap === null && piece.vanish === null) return null;
  const art = byId(`art-${index}`);
  const paths = piece.bend ? [...art.querySelectorAll("path")] : [];
  return {
    looks: [...art.children],
    paths: paths.map((node) => ({ node, ...readPath(node.getAttribute("d")) })),
    outlines: [piece.outline, piece.worn || piece.outline].map(readPath),
    drawn: [0, 0, 0], // share of the bend, which drawing, whether it is gone
  };
});

// Share of the bend, which drawing, whether it is gone; a piece may run after the master.
function shapeAt(index, time) {
  const { bend, bending, swap, vanish } = shot.pieces[index];
  const own = time - offsetOf(index);
  return [
    bend ? minimumJerk((own - bending[0]) / (bending[1] - bending[0])) : 0,
    swap !== null && own >= swap ? 1 : 0,
    vanish !== null && own >= vanish ? 1 : 0,
  ];
}

// Writes only what has changed since the last time.
function drawShape(index, time) {
  const shape = shapes[index];
  if (!shape) return;
  const [share, look, isGone] = shapeAt(index, time);
  const [lastShare, lastLook, wasGone] = shape.drawn;
  shape.drawn = [share, look, isGone];
  if (isGone !== wasGone) pieceNodes[index].style.display = isGone ? "none" : "";
  if (look !== lastLook)
    shape.looks.forEach((node, k) => { node.style.display = k === look ? "" : "none"; });
  if (share === lastShare) return;
  const { bend, centre } = shot.pieces[index];
  for (const path of shape.paths)
    path.node.setAttribute("d", bentData(path, bend, share, centre));
}

// The outline of a piece in its own frame, as skins and rings show it.
function drawOutline(node, index, time) {
  const shape = shapes[index];
  if (!shape) return;
  const [share, look, isGone] = shapeAt(index, time);
  const piece = shot.pieces[index];
  const outline = look ? piece.worn : piece.outline;
  const data = piece.bend ? bentData(shape.outlines[look], piece.bend, share, [0, 0]) : outline;
  node.setAttribute("d", data);
  node.style.display = isGone ? "none" : "";
}
