// Keeps a page true without reloading it. The server says "something changed" (server-sent events);
// every part that carries data-live then fetches itself through htmx. When the line is cut, the
// page says so in words, asks again by itself, and catches up at once when the line is back.
(() => {
  const body = document.body;
  const stream = body.dataset.stream;
  const note = document.getElementById("line-state");
  const say = (text) => { if (note && note.textContent !== text) { note.textContent = text; note.hidden = !text; } };
  const busy = (part) => part.contains(document.activeElement) && document.activeElement.matches("input, select, textarea");
  let waiting = null;
  const refresh = () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      for (const part of document.querySelectorAll("[data-live]")) {
        if (!busy(part) && window.htmx) { window.htmx.trigger(part, "refresh"); }
      }
    }, 150);
  };
  if (stream) {
    let lost = false;
    const source = new EventSource(stream);
    source.addEventListener("changed", refresh);
    source.onopen = () => { say(""); if (lost) { lost = false; refresh(); } };
    source.onerror = () => { lost = true; say("No connection to the desk. What you see may be old; trying again."); };
    setInterval(refresh, 30000);
    addEventListener("visibilitychange", () => { if (!document.hidden) { refresh(); } });
  }
  const clock = document.querySelector("[data-clock]");
  if (clock) {
    const zone = clock.dataset.clock;
    const started = Date.now();
    const server = Date.parse(clock.dateTime);
    const day = new Intl.DateTimeFormat("en-IE", { weekday: "short", day: "numeric", month: "short", timeZone: zone });
    const time = new Intl.DateTimeFormat("en-IE", { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone });
    const tick = () => {
      const now = new Date(server + Date.now() - started);
      clock.textContent = `${day.format(now).replace(",", "")} ${time.format(now)}`;
    };
    tick();
    setInterval(tick, 1000);
  }
  // What is open stays open, and what has the focus keeps it, when a part of the page is renewed.
  let kept = { open: [], focus: "" };
  document.body.addEventListener("htmx:beforeSwap", (event) => {
    const part = event.detail.target;
    kept = {
      open: [...part.querySelectorAll("details[open][id]")].map((each) => each.id),
      focus: part.contains(document.activeElement) ? document.activeElement.closest("[id]")?.id || "" : "",
      on: document.activeElement.tagName,
    };
  });
  document.body.addEventListener("htmx:afterSwap", () => {
    for (const id of kept.open) { document.getElementById(id)?.setAttribute("open", ""); }
    if (!kept.focus || document.activeElement !== document.body) { return; }
    const home = document.getElementById(kept.focus);
    const target = kept.on === "SUMMARY" ? home?.querySelector("summary") : home?.querySelector("a, button, input") || home;
    target?.focus({ preventScroll: true });
  });
  // A form that was sent is not sent twice by an impatient finger.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || form.matches("[hx-post], [hx-get]")) { return; }
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
    addEventListener("pageshow", () => { delete form.dataset.sent; }, { once: true });
  });
})();
