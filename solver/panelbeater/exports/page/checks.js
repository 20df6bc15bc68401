// What was promised and what was measured, with a way to each broken place.
function buildPromises(light) {
  const box = byId("promises");
  if (!shot.scores.promises.length) box.append(element("p", { className: "note" },
    "Not checked in this file."));
  const nBroken = shot.scores.promises.filter(({ kept }) => !kept).length;
  if (nBroken) byId("tab-checks").textContent = `Checks: ${nBroken} broken`;
  for (const promise of shot.scores.promises) {
    const row = element("div", { className: "promise" + (promise.kept ? "" : " is-broken") },
      element("span", { className: "word" }, promise.kept ? "kept" : "broken"),
      element("span", {}, promise.name),
      element("span", { className: "amount" }, inShort(promise.value)));
    if (promise.broken.length) {
      const places = element("ul", {});
      for (const place of promise.broken.slice(0, shot.placesShown)) {
        const where = [framesInWords(place.frames), place.pieces.join(", ")];
        const text = [where.filter(Boolean).join(", "), place.detail].filter(Boolean).join(": ");
        const button = element("button", { type: "button" }, text);
        button.addEventListener("click", () => light(place, promise.name));
        places.append(element("li", {}, button));
      }
      const rest = promise.broken.length - shot.placesShown;
      if (rest > 0) places.append(element("li", { className: "note" },
        `and ${rest} more in the scores file`));
      row.append(places);
    }
    box.append(row);
  }
}

function buildScores() {
  for (const [name, key] of [["Layout, last frame", "layout"], ["Motion", "motion"]]) {
    if (!shot.scores[key].length) continue;
    const table = element("table", {});
    table.append(element("caption", { className: "unseen" }, name));
    const head = element("tr", {});
    for (const word of ["score", "value", "wanted"])
      head.append(element("th", { scope: "col" }, word));
    table.append(element("thead", {}, head));
    const rows = element("tbody", {});
    for (const score of shot.scores[key]) {
      const target = score.target || {};
      const wanted = [];
      if (target.low !== undefined) wanted.push(`at least ${inShort(target.low)}`);
      if (target.high !== undefined) wanted.push(`at most ${inShort(target.high)}`);
      const isMissed = score.on_target === false;
      rows.append(element("tr", {},
        element("th", { scope: "row", title: score.note || "" }, score.name),
        element("td", {}, `${inShort(score.value)} ${score.unit || ""}`),
        element("td", { className: isMissed ? "missed" : "" },
          wanted.join(", ") + (isMissed ? " (missed)" : ""))));
    }
    table.append(rows);
    byId("scores").append(element("h3", {}, name), table);
  }
  if (!byId("scores").childElementCount)
    byId("scores").append(element("p", { className: "note" }, "None in this file."));
}
