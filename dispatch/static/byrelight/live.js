// Keeps a page true without reloading it. The server says "something changed" (server-sent events);
// every part that carries data-live then fetches itself through htmx. When the line is cut, or the
// sign-in has run out, the page says so in words, and catches up at once when that is mended.
(() => {
  const body = document.body;
  const note = document.getElementById("line-state");
  const say = (text, link) => {
    if (!note) { return; }
    note.textContent = text;
    if (link) {
      const anchor = document.createElement("a");
      Object.assign(anchor, { href: "/sign-in/", target: "_blank", rel: "noopener", textContent: link });
      note.append(" ", anchor);
    }
    note.hidden = !text;
  };
  const CUT = "No connection to the desk. What you see may be old; trying again.";
  const SIGNED_OUT = "You are signed out. What you typed stays on this page:";
  const busy = (part) => part.contains(document.activeElement) && document.activeElement.matches("input, select, textarea");
  let later = null;
  const refresh = (wait = 150) => {
    clearTimeout(later);
    later = setTimeout(() => {
      if (!navigator.onLine) { return; }
      for (const part of document.querySelectorAll("[data-live]")) {
        if (!busy(part) && window.htmx) { window.htmx.trigger(part, "refresh"); }
      }
    }, wait);
  };

  // A button that is exchanged between the finger's going down and its coming up is never pressed: a part
  // under a finger, or whose form is on its way, is renewed a moment later.
  let pressed = null;
  const release = () => setTimeout(() => { pressed = null; }, 50);  // the click follows the finger's coming up
  addEventListener("pointerdown", (event) => { pressed = event.target; }, true);
  addEventListener("keydown", (event) => { if (event.key === " " || event.key === "Enter") { pressed = event.target; } }, true);
  for (const each of ["pointerup", "pointercancel", "keyup"]) { addEventListener(each, release, true); }
  addEventListener("blur", release);  // of the window only
  const sending = (form) => Date.now() - form.dataset.sent < 10000;
  body.addEventListener("htmx:beforeSwap", (event) => {
    const part = event.detail.target;
    const renewal = event.detail.requestConfig.elt === part && part.matches("[data-live]");
    if (!renewal || !(part.contains(pressed) || [...part.querySelectorAll("form")].some(sending))) { return; }
    event.detail.shouldSwap = false;
    refresh(300);
  });

  // Signing in again, here or in another tab, makes the token of every open form void: ask for the new one.
  let lastToken = "";
  const renewToken = (token) => {
    if (!token) { return; }
    lastToken = token;
    body.setAttribute("hx-headers", JSON.stringify({ "X-CSRFToken": token }));
    for (const field of document.querySelectorAll("[name=csrfmiddlewaretoken]")) { field.value = token; }
  };
  const lookWhoIsHere = async () => {
    const answer = await fetch("/sign-in/standing/", { credentials: "same-origin", cache: "no-store" });
    const standing = await answer.json();
    if (standing.member) { renewToken(standing.token); } else { say(SIGNED_OUT, "sign in again, then come back here."); }
    return Boolean(standing.member);
  };

  if (body.dataset.stream) {
    let lost = false;
    const open = () => {
      const source = new EventSource(body.dataset.stream);
      source.addEventListener("changed", () => refresh());
      source.onopen = () => { say(""); if (lost) { lost = false; refresh(); } };
      source.onerror = () => {
        lost = true;
        if (source.readyState !== EventSource.CLOSED) { say(CUT); return; }
        // refused for good: signed out, or the site is starting anew
        lookWhoIsHere().then((here) => { if (here) { say(CUT); } }, () => say(CUT));
        setTimeout(open, 5000);
      };
    };
    open();
    setInterval(() => refresh(), 30000);
    addEventListener("online", () => refresh());
    addEventListener("offline", () => say(CUT));
    addEventListener("visibilitychange", () => {
      if (!document.hidden) { lookWhoIsHere().then((here) => { if (here) { refresh(); } }, () => {}); }
    });
    addEventListener("pageshow", (event) => { if (event.persisted) { lookWhoIsHere().catch(() => {}); } });
  }
  body.addEventListener("htmx:beforeSwap", (event) => {
    const status = event.detail.xhr.status;
    if (status !== 401 && !(status === 403 && event.detail.xhr.responseText.includes("signed in again"))) { return; }
    event.detail.shouldSwap = false;  // the sentence stands above; the form keeps what was typed
    lookWhoIsHere().then((here) => { if (here && status === 403) { say("You have signed in again since. Press it once more."); } }, () => say(CUT));
  });

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

  // When a part is renewed, what is open stays open, what was typed or chosen since it was asked for stays,
  // and the focus stays where it was.
  const given = (field) => field.options ? ([...field.options].find((each) => each.defaultSelected) || field.options[0])?.value : field.defaultValue;
  let kept = { open: [], typed: [], chosen: [], focus: "" };
  body.addEventListener("htmx:beforeSwap", (event) => {
    const part = event.detail.target;
    const fields = [...part.querySelectorAll("input[id]:not([type=hidden], [type=radio], [type=checkbox]), textarea[id], select[id]")];
    kept = {
      open: [...part.querySelectorAll("details[open][id]")].map((each) => each.id),
      typed: fields.filter((each) => each.value !== given(each)).map((each) => [each.id, each.value]),
      chosen: [...part.querySelectorAll("input:is([type=radio], [type=checkbox]):checked")].map((each) => [each.name, each.value]),
      focus: part.contains(document.activeElement) ? document.activeElement.closest("[id]")?.id || "" : "",
      on: document.activeElement.tagName,
    };
  });
  body.addEventListener("htmx:afterSwap", () => {
    if (lastToken) { renewToken(lastToken); }
    for (const id of kept.open) { document.getElementById(id)?.setAttribute("open", ""); }
    for (const [id, value] of kept.typed) { const field = document.getElementById(id); if (field) { field.value = value; } }
    for (const [name, value] of kept.chosen) {
      const field = document.querySelector(`input[name="${CSS.escape(name)}"][value="${CSS.escape(value)}"]`);
      if (field) { field.checked = true; }
    }
    if (!kept.focus || document.activeElement !== body) { return; }
    const home = document.getElementById(kept.focus);
    const target = kept.on === "SUMMARY" ? home?.querySelector("summary") : home?.querySelector("a, button, input") || home;
    target?.focus({ preventScroll: true });
  });

  // A refusal leads to the field it is about: the fold is opened, the field marked and focused.
  const lead = (refusal) => {
    const name = refusal?.dataset.field;
    const form = refusal?.closest("form") || document.querySelector("main details[open] form") || document;
    const field = name ? form.querySelector(`[name="${CSS.escape(name)}"], [name="a_${CSS.escape(name)}"]`) : null;
    if (!field || field.type === "hidden") { return; }
    for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) { fold.open = true; }
    refusal.id ||= "refusal";
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", refusal.id);
    field.focus({ preventScroll: true });
    field.addEventListener("input", () => field.removeAttribute("aria-invalid"), { once: true });
  };
  const leadToRefusal = () => lead(document.querySelector("main [role=alert][data-field]:not([data-field=''])"));
  body.addEventListener("htmx:afterSwap", leadToRefusal);
  leadToRefusal();

  for (const button of document.querySelectorAll("[data-print-now]")) { button.addEventListener("click", () => print()); }

  // Paper has no folds to open.
  addEventListener("beforeprint", () => {
    for (const fold of document.querySelectorAll("details[data-print]:not([open])")) { fold.open = true; fold.dataset.print = "opened"; }
  });
  addEventListener("afterprint", () => {
    for (const fold of document.querySelectorAll("details[data-print=opened]")) { fold.open = false; fold.dataset.print = ""; }
  });

  // What is to be taken along is selected by a touch, and copied where the browser lets us.
  for (const field of document.querySelectorAll("[data-select]")) { field.addEventListener("focus", () => field.select()); }
  for (const button of document.querySelectorAll("[data-copy]")) {
    button.hidden = !navigator.clipboard;
    button.addEventListener("click", () => {
      navigator.clipboard.writeText(document.getElementById(button.dataset.copy).value).then(() => { button.textContent = "Copied"; }, () => {});
    });
  }

  // A form that was sent is not sent twice by an impatient finger.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || form.matches("[hx-post], [hx-get]")) { return; }
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = Date.now();
    addEventListener("pageshow", () => { delete form.dataset.sent; }, { once: true });
  });
})();
