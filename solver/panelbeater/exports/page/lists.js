// The column of pieces, limb by limb: what each is, why it is there, and when it runs.
function factsOf(piece) {
  const facts = [
    ["Kind", piece.kind + (piece.signature ? ", must stay readable" : "")],
    ["From", piece.from],
    ["To", piece.region],
    ["Rides", piece.bone === piece.region ? "" : piece.bone],
    ["Moves", `frames ${piece.start + 1}-${piece.end + 1}`],
    ["Allowed", piece.allowance],
    ["End scale", inShort(piece.scale)],
    ["End stretch", inShort(piece.stretch)],
    ["Covers alone", `${inShort(100 * piece.gain)} % of the figure`],
    ["Why", piece.reason],
  ];
  if (piece.mirror) facts.splice(4, 0, ["Answers", piece.mirror]);
  const list = element("dl", {});
  for (const [word, value] of facts)
    if (value) list.append(element("dt", {}, word), element("dd", {}, value));
  return list;
}


// Frames that a limb or a piece runs after the master; minus runs ahead of it.
function laterBox(spoken, read, write, ask) {
  const box = element("input", { type: "number", min: -shot.frames, max: shot.frames, step: 1,
    value: 0 });
  box.setAttribute("aria-label", `${spoken} runs this many frames after the master`);
  box.addEventListener("change", () => {
    const value = Math.round(Number(box.value)) || 0;
    write(Math.min(Math.max(value, -shot.frames), shot.frames));
    box.value = String(read());
    touch();
    ask();
  });
  laterBoxes.push([box, read]);
  return element("span", { className: "later" }, "later by", box);
}

const laterBoxes = [];
let laterShown = -1;
function drawLater() {
  if (laterShown === changes.version) return;
  laterShown = changes.version;
  for (const [box, read] of laterBoxes)
    // Never under the fingers of somebody who is typing.
    if (document.activeElement !== box && box.value !== String(read()))
      box.value = String(read());
  byId("reset-later").hidden = laterBoxes.every(([, read]) => read() === 0);
}

function buildList(choose, ask) {
  const rows = [];
  for (const limb of shot.limbs) {
    if (!limb.bars.length) continue;
    const name = limb.controller;
    byId("list").append(element("div", { className: "limb-head" },
      element("h3", {}, limb.name),
      laterBox(limb.name, () => changes.laterLimb[name],
        (value) => { changes.laterLimb[name] = value; }, ask)));
    for (const { index } of limb.bars) {
      const piece = shot.pieces[index];
      const picture = make("svg", { viewBox: piece.frame, "aria-hidden": "true" });
      make("use", { href: `#art-${index}` }, picture);
      const words = element("span", {},
        element("span", { className: "name" }, piece.id),
        element("span", { className: "way" }, `${piece.kind}, from ${piece.from} to ${piece.region}`));
      const row = element("button", { type: "button", className: "row" }, picture, words);
      row.setAttribute("aria-expanded", "false");
      row.addEventListener("click", () => choose(index));
      const details = element("div", { className: "details", hidden: true }, factsOf(piece),
        laterBox(piece.id, () => changes.later[index],
          (value) => { changes.later[index] = value; }, ask));
      byId("list").append(row, details);
      rows[index] = { row, details };
    }
  }
  byId("reset-later").addEventListener("click", () => {
    resetOffsets();
    say("every piece runs with the master again");
    ask();
  });
  return rows;
}

function showChosen(rows, chosen, isFromStage) {
  rows.forEach(({ row, details }, index) => {
    row.setAttribute("aria-expanded", String(index === chosen));
    details.hidden = index !== chosen;
  });
  pieceBars.forEach((bar, index) => bar.classList.toggle("chosen", index === chosen));
  const column = document.querySelector(".column");
  const hasOwnScroll = column.scrollHeight > column.clientHeight + 1 &&
    getComputedStyle(column).overflowY === "auto";
  if (chosen >= 0 && isFromStage && hasOwnScroll)
    for (const part of ["details", "row"])
      rows[chosen][part].scrollIntoView({ block: "nearest" });
}
