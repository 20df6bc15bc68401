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

// What of a piece is written anew on the way; null where it only moves. `ride` is the piece
// itself or its ride in another plan, `art` and `node` are what shows it there.
function shapeOf(ride, art, node, { outline, worn, centre }) {
  if (!ride.bend && ride.swap === null && ride.vanish === null) return null;
  const paths = ride.bend ? [...art.querySelectorAll("path")] : [];
  return {
    ride, node, centre,
    looks: [...art.querySelectorAll(":scope > g")],
    paths: paths.map((path) => ({ node: path, ...readPath(path.getAttribute("d")) })),
    data: [outline, worn || outline],
    outlines: [outline, worn || outline].map(readPath),
    drawn: [0, 0, 0], // share of the bend, which drawing, whether it is gone
  };
}

const shapes = shot.pieces.map((piece, index) =>
  shapeOf(piece, byId(`art-${index}`), pieceNodes[index], piece));

// Share of the bend, which drawing, whether it is gone; a piece may run after the master.
function shapeAt({ bend, bending, swap, vanish }, own) {
  return [
    bend ? minimumJerk((own - bending[0]) / (bending[1] - bending[0])) : 0,
    swap !== null && own >= swap ? 1 : 0,
    vanish !== null && own >= vanish ? 1 : 0,
  ];
}

// Writes only what has changed since the last time.
function drawShape(shape, own) {
  if (!shape) return;
  const [share, look, isGone] = shapeAt(shape.ride, own);
  const [lastShare, lastLook, wasGone] = shape.drawn;
  shape.drawn = [share, look, isGone];
  if (isGone !== wasGone) shape.node.style.display = isGone ? "none" : "";
  if (look !== lastLook)
    shape.looks.forEach((node, k) => { node.style.display = k === look ? "" : "none"; });
  if (share === lastShare) return;
  for (const path of shape.paths)
    path.node.setAttribute("d", bentData(path, shape.ride.bend, share, shape.centre));
}

// The outline of a piece in its own frame, as skins and rings show it.
function drawOutline(node, shape, own) {
  if (!shape) return;
  const [share, look, isGone] = shapeAt(shape.ride, own);
  const { bend } = shape.ride;
  node.setAttribute("d",
    bend ? bentData(shape.outlines[look], bend, share, [0, 0]) : shape.data[look]);
  node.style.display = isGone ? "none" : "";
}
