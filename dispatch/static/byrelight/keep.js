// What a vet presses survives a dead spot. It is kept on this phone with the moment it was pressed, and
// sent when the line is back; each press has its own key, so one that arrives twice is one. Nothing is
// dropped in silence: a press stays here through a sign-in that has run out, and a refusal stays until
// somebody has read it. What is kept: kept.js. What the page says of it: kept_note.js.
(() => {
  const { kept } = window;
  if (!kept.note) { return; }
  const AGAIN_MS = 10000;
  const PRESSED_TWICE_MS = 1500;  // a second touch of the same finger, on whatever button stands there by then
  const TOO_LONG_MS = 25000;

  // --- sending ------------------------------------------------------------------------------
  const ask = (address, options) => fetch(address, {
    credentials: "same-origin", redirect: "manual", cache: "no-store", signal: AbortSignal.timeout(TOO_LONG_MS),
    ...options, headers: { Accept: "application/json", ...options.headers },
  });
  // The token is asked for each time: signing in again makes the one in an open page void.
  const post = (item, token) => ask(item.address, {
    method: "POST", headers: { "X-CSRFToken": token },
    body: new URLSearchParams({ ...item.fields, happened_at: new Date(item.pressed).toISOString(), sent_at: new Date().toISOString() }),
  });
  const LATER = [0, 408, 425, 429];
  const read = (text) => { try { return JSON.parse(text); } catch { return {}; } };
  const refuse = (item, told) => {
    const { detail, field, fill, warnings } = told;
    const refused = { ...item, refused: detail || "The desk did not say why. Ring and tell them.", field, fill, warnings };
    kept.keep(refused);
    return { refused };
  };
  const sendOne = async (item, token) => {
    const answer = await post(item, token);
    if (answer.status === 401) { return { trouble: "signed out" }; }
    if (answer.status >= 500 || LATER.includes(answer.status)) { return { trouble: "no answer" }; }
    const told = read(await answer.text());  // a line that breaks here throws: it is sent once more
    if (told.code === "csrf_failed" || told.code === "busy") { return { trouble: "no answer" }; }
    if (!answer.ok) { return refuse(item, told); }
    kept.drop(item);
    return { address: told.address };
  };
  const hasForm = (item) => [...document.querySelectorAll("form[data-keep]")].some((form) => kept.fits(item, form));
  const sendAll = async () => {
    const standing = await (await ask("/sign-in/standing/", {})).json();
    if (String(standing.member) !== kept.member) { kept.trouble = standing.member ? "somebody else" : "signed out"; return []; }
    kept.trouble = "";
    const ends = [];
    for (let items = kept.waiting(); items.length; items = kept.waiting()) {
      const end = { item: items[0], here: hasForm(items[0]), ...await sendOne(items[0], standing.token) };
      if (end.trouble) { kept.trouble = end.trouble; return ends; }
      ends.push(end);
    }
    return ends;
  };
  let sending = false;
  const send = async () => {
    if (sending || !kept.waiting().length) { return; }
    sending = true;
    let ends = [];
    try {
      // where the browser can, only one tab sends; where it cannot, the keys make twice into once
      ends = (navigator.locks ? await navigator.locks.request("kept", { ifAvailable: true }, (lock) => lock && sendAll()) : await sendAll()) || [];
    } catch { kept.trouble = "no line"; }
    sending = false;
    settle(ends);
  };

  // --- what follows -------------------------------------------------------------------------
  const FIELDS = "main form:is(:not([data-keep]), [data-typed])";
  const written = () => [...document.querySelectorAll(FIELDS)].some(kept.isWritten);
  const settle = (ends) => {
    const back = ends.find((end) => end.refused?.typed && end.here && !kept.isWritten(kept.formFor(end.item)));
    if (back) { kept.putBack(back.refused); }
    const done = ends.filter((end) => end.address);
    const leaves = done.length > 0 && !kept.waiting().length && done.some((end) => end.here) && !written();
    if (!leaves) { done.filter((end) => end.item.typed).forEach((end) => kept.hasLanded(end.item, end.address)); }
    kept.show();
    if (leaves) { goTo(done.at(-1).address); } else if (done.length) { renew(); }
  };
  // Goes to what was sent, unless somebody is writing here: then the page is only brought up to date.
  const goTo = (address) => {
    const to = new URL(address, location);
    if (to.pathname !== location.pathname || to.search !== location.search) { location.assign(to); return; }
    history.replaceState(null, "", to);
    location.reload();
  };
  const renew = () => { for (const part of document.querySelectorAll("[data-live]")) { window.htmx?.trigger(part, "refresh"); } };

  // --- pressing -----------------------------------------------------------------------------
  const justPressed = () => {
    let last = 0;
    try { last = Number(sessionStorage.getItem("pressed")) || 0; sessionStorage.setItem("pressed", String(Date.now())); } catch { return false; }
    return Math.abs(Date.now() - last) < PRESSED_TWICE_MS;
  };
  const itemOf = (form, submitter) => {
    const fields = Object.fromEntries(new FormData(form, submitter));
    delete fields.csrfmiddlewaretoken;
    if (submitter?.name) { fields.key = `${fields.key}-${submitter.value}`; }
    const typed = form.dataset.typed || "";
    return {
      key: fields.key, member: kept.member, practice: kept.practice, address: form.getAttribute("action"), kind: kept.mark(form),
      offer: "offer" in form.dataset, typed, page: location.pathname + location.search,
      words: typed ? kept.words(form) : form.dataset.keep || submitter?.textContent.trim(), fields, pressed: Date.now(),
    };
  };
  const press = (form, submitter) => {
    if (justPressed()) { return; }
    const item = itemOf(form, submitter);
    const before = kept.find(item.key);
    if (!before || before.refused) { kept.keep(item); }
    kept.leaving = false;
    if (item.typed) { kept.clear(form); }
    kept.show();
    kept.note.scrollIntoView({ block: "nearest" });
    if (item.typed) { kept.note.focus({ preventScroll: true }); }
    send();
  };
  // Who signs out takes along the only way in which the rest is sent.
  const mayLeave = () => kept.leaving || ![...kept.waiting(), ...kept.refused()].some((item) => item.typed);
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.matches("[data-keep]")) { event.preventDefault(); press(form, event.submitter); }
    if (form.matches("[action='/sign-out/']") && !mayLeave()) {
      event.preventDefault();
      kept.leaving = true;
      kept.show();
      kept.note.scrollIntoView({ block: "nearest" });
    }
  }, true);

  // A refusal that is looked at on another page leads here, with its key in the address.
  const asked = kept.refused().find((item) => item.key === new URLSearchParams(location.search).get("kept"));
  if (asked && kept.formFor(asked)) {
    const bare = new URL(location);
    bare.searchParams.delete("kept");
    history.replaceState(null, "", bare);
    kept.putBack(asked);
  }

  kept.send = send;
  addEventListener("online", send);
  addEventListener("pageshow", () => { kept.show(); send(); });
  addEventListener("visibilitychange", () => { if (!document.hidden) { send(); } });
  setInterval(send, AGAIN_MS);
  kept.show();
  send();
})();
