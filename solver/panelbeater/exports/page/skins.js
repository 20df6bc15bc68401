// Drawn over the moment: onion skins before and after, motion arcs, and what is lit.
function drawSkins(view) {
  for (const [id, sign, asked] of [["before", -1, view.nBefore], ["after", 1, view.nAfter]]) {
    const layer = byId(id);
    const wanted = view.isSpread ? 0 : asked;
    while (layer.childElementCount > wanted) layer.lastChild.remove();
    while (layer.childElementCount < wanted) {
      const skin = make("g", {}, layer);
      for (const piece of shot.pieces) make("path", { d: piece.outline }, skin);
    }
    [...layer.children].forEach((skin, k) => {
      const time = Math.floor(view.time) + sign * (k + 1) * view.skinGap;
      const isThere = time >= 0 && time <= lastFrame;
      skin.style.display = isThere ? "" : "none";
      // The farther a skin is in time, the fainter.
      skin.style.opacity = (0.3 * (1 - k / (wanted + 1))).toFixed(2);
      if (!isThere) return;
      const then = momentAt(time);
      [...skin.children].forEach((path, index) => {
        setTransform(path, asText(pieceOf(then, index)));
        drawOutline(path, shapes[index], time - offsetOf(index));
      });
    });
  }
}

function remakeLit(view) {
  const layer = byId("lit");
  layer.replaceChildren();
  const ring = (kind, index, name) => {
    const d = kind === "piece" ? shot.pieces[index].outline : boneNodes[index].getAttribute("d");
    make("path", { d, class: name, "data-kind": kind, "data-index": index }, layer);
  };
  for (const [kind, index] of view.broken) ring(kind, index, "lit broken");
  if (view.chosen >= 0) ring("piece", view.chosen, "lit");
}

function drawLit(view, shown) {
  for (const node of byId("lit").children) {
    const index = Number(node.dataset.index);
    const isPiece = node.dataset.kind === "piece";
    setTransform(node, asText(isPiece ? shown[index] : bodyMatrix(view, index)));
    if (isPiece) drawOutline(node, shapes[index], view.time - offsetOf(index));
  }
}

// Arcs are made again only when something they show has changed.
let arcMadeFor = "";
function remakeArcs(view) {
  const wanted = view.arcs === "all" ? tracks.map((_, index) => index)
    : view.arcs === "chosen" && view.chosen >= 0 ? [view.chosen] : [];
  const key = `${wanted.join()}:${changes.version}`;
  if (key === arcMadeFor) return;
  arcMadeFor = key;
  const layer = byId("arc");
  layer.replaceChildren();
  if (!wanted.length) return;
  const moments = [];
  for (let frame = 0; frame <= lastFrame; frame++) moments.push(momentAt(frame));
  for (const index of wanted) {
    const spots = moments.map((m) => [m.pieces[6 * index + 4], m.pieces[6 * index + 5]]);
    const text = spots.map(([x, y]) =>
      `${x.toFixed(shot.decimals)} ${y.toFixed(shot.decimals)}`);
    const name = view.arcs === "all" && index !== view.chosen ? "faint" : "";
    make("path", { d: "M" + text.join("L"), class: name }, layer);
    if (index === view.chosen) addFrames(layer, index, spots);
  }
}

function addFrames(layer, index, spots) {
  const size = Math.max(winW, winH) / 260;
  const { start, end } = tracks[index];
  const later = offsetOf(index);
  spots.forEach(([cx, cy], frame) => {
    const isKey = frame === start + later || frame === end + later;
    make("circle", { cx, cy, r: isKey ? size * 1.8 : size * 0.8 }, layer);
  });
  make("circle", { r: size * 1.7, class: "now" }, layer);
}

function moveArc(view) {
  remakeArcs(view);
  const spot = byId("arc").querySelector(".now");
  if (!spot) return;
  const m = pieceOf(now, view.chosen);
  spot.setAttribute("cx", m[4]);
  spot.setAttribute("cy", m[5]);
}
