// The map: a second view of what the rows say. Roads are drawn from the practice's own file; there are no tiles.
(() => {
  const box = document.getElementById("map");
  if (!box || !window.L) { return; }
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
  const map = L.map(box, { attributionControl: false, zoomControl: true, scrollWheelZoom: false, zoomSnap: 0.25 });
  const lines = L.layerGroup().addTo(map);
  const marks = L.layerGroup().addTo(map);
  let drawn = null;
  let framed = false;

  // road classes as the drawing names them, widest first
  const width = { main: 3.5, b_road: 2.5, minor: 1.5, street: 1.25, lane: 1, track: 0.75 };
  const lineStyle = (feature) => {
    const about = feature.properties;
    if (about.kind === "river") { return { color: colour("focus"), weight: 3, opacity: 0.4 }; }
    if (about.kind === "contour") { return { color: colour("line"), weight: 1, opacity: 0.8 }; }
    return { color: colour("quiet"), weight: width[about.road] || 1, opacity: 0.6, dashArray: about.road === "track" ? "4 4" : null };
  };
  const name = (latlng, text, extra) => L.marker(latlng, { opacity: 0, interactive: false, keyboard: false })
    .bindTooltip(text, { permanent: true, direction: "right", className: `map-name ${extra || ""}`, offset: [4, 0] });
  const drawLines = () => {
    lines.clearLayers();
    if (!drawn) { return; }
    L.geoJSON(drawn, {
      interactive: false, style: lineStyle,
      pointToLayer: (feature, latlng) => name(latlng, feature.properties.name || "", "village"),
    }).addTo(lines);
  };
  const ember = { immediate: "ember4", urgent: "ember3", same_day: "ember2", next_working_day: "ember1", advice: "ember0" };
  const drawMarks = () => {
    const data = document.getElementById("map-data");
    if (!data) { return; }
    marks.clearLayers();
    const features = JSON.parse(data.textContent).features || [];
    const points = [];
    for (const feature of features) {
      if (!feature.geometry || feature.geometry.type !== "Point") { continue; }
      const [lon, lat] = feature.geometry.coordinates;
      const about = feature.properties;
      const latlng = L.latLng(lat, lon);
      points.push(latlng);
      const farm = about.kind === "call" || about.kind === "farm";
      const shape = farm
        ? L.circleMarker(latlng, { radius: 9, weight: 2, color: colour("ink"), fillColor: colour(ember[about.urgency] || "ember1"), fillOpacity: 1, keyboard: false })
        : L.circleMarker(latlng, { radius: 6, weight: 3, color: colour("ink"), fillColor: colour("card"), fillOpacity: 1, keyboard: false });
      shape.addTo(marks);
      // the rows above say it all; here a name is enough
      const text = about.farm || about.name || about.label;
      name(latlng, text, about.kind).addTo(marks);
    }
    if (!framed && points.length) { framed = true; map.fitBounds(L.latLngBounds(points).pad(0.25), { maxZoom: 12.5, animate: false }); }
  };
  const redraw = () => { drawLines(); drawMarks(); };
  map.setView([0, 0], 2);
  drawMarks();
  fetch(box.dataset.lines, { credentials: "same-origin" })
    .then((answer) => (answer.ok ? answer.json() : null))
    .then((found) => { drawn = found; drawLines(); })
    .catch(() => { /* no drawing: the marks alone still show who is where */ });
  document.body.addEventListener("htmx:afterSwap", drawMarks);
  document.addEventListener("click", (event) => { if (event.target.closest("[data-switch-light]")) { setTimeout(redraw, 0); } });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
})();
