// Follows the system's light or dark; a switch overrides it and is remembered on this device.
// Loaded before the page is drawn, so that a dark kitchen never sees a white flash.
(() => {
  const root = document.documentElement;
  const kept = () => { try { return localStorage.getItem("light"); } catch { return null; } };
  const apply = (light) => { if (light) { root.dataset.light = light; } else { delete root.dataset.light; } };
  apply(kept());
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-switch-light]");
    if (!button) { return; }
    const dark = root.dataset.light ? root.dataset.light === "night" : matchMedia("(prefers-color-scheme: dark)").matches;
    const next = dark ? "day" : "night";
    apply(next);
    try { localStorage.setItem("light", next); } catch { /* private window: it holds for this page */ }
  });
})();
