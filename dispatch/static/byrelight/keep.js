// What a vet presses survives a dead spot. It is kept on this phone with the moment it was pressed, and
// sent when the line is back; each press has its own key, so one that arrives twice is one. Nothing is
// shown as done before the desk has confirmed it, and nothing is dropped in silence: a press stays here
// through a sign-in that has run out, and a refusal stays until somebody has read it.
(() => {
  const note = document.getElementById("kept-reports");
  if (!note) { return; }
  const PREFIX = "kept:";
  const MEMBER = note.dataset.member;
  const AGAIN_MS = 10000;
  const PRESSED_TWICE_MS = 1500;  // a second touch of the same finger, on whatever button stands there by then
  const TOO_LONG_MS = 25000;

  // One entry for each press, so that two tabs never write over one another. Where the phone keeps
  // nothing (a private window), the open page does.
  const held = new Map();
  const all = () => {
    const found = [...held.values()];
    try {
      for (let at = 0; at < localStorage.length; at += 1) {
        const name = localStorage.key(at);
        if (name.startsWith(PREFIX)) { found.push(JSON.parse(localStorage.getItem(name))); }
      }
    } catch { /* the page's own are all there are */ }
    return found.sort((one, other) => one.pressed - other.pressed);
  };
  const keep = (item) => {
    try { localStorage.setItem(PREFIX + item.key, JSON.stringify(item)); } catch { held.set(item.key, item); }
  };
  const drop = (item) => {
    held.delete(item.key);
    try { localStorage.removeItem(PREFIX + item.key); } catch { /* it was never there */ }
  };
  const mine = () => all().filter((item) => item.member === MEMBER);
  const waiting = () => mine().filter((item) => !item.refused);

  // --- what the page says -------------------------------------------------------------------
  let trouble = "";
  const line = (text, strong) => {
    const made = document.createElement("p");
    made.textContent = text;
    if (strong) { made.className = "strong"; }
    return made;
  };
  const button = (text, press) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "line";
    made.textContent = text;
    made.addEventListener("click", press);
    return made;
  };
  const quoted = (items) => items.map((item) => `“${item.words}”`).join(", ");
  const reports = (items) => (items.length === 1 ? "report is" : `${items.length} reports are`);
  const said = (items) => {
    const parts = [];
    if (trouble === "signed out") {
      const link = document.createElement("a");
      link.href = `/sign-in/?next=${encodeURIComponent(location.pathname)}`;
      link.className = "button";
      link.textContent = "Sign in again";
      parts.push(line(`You are signed out. Sign in again; your ${reports(items)} kept on this phone: ${quoted(items)}.`, true), link);
    } else if (trouble === "somebody else") {
      parts.push(line(`Somebody else is signed in on this phone now. Your ${reports(items)} kept until you sign in again.`, true));
    } else {
      const them = items.length === 1 ? "It is" : "They are";
      const it = items.length === 1 ? "it" : "them";
      parts.push(line(`Sending ${quoted(items)}. ${them} kept on this phone until the desk has ${it}.`, true));
    }
    if (items.some((item) => item.offer)) { parts.push(line("The call is not yours before the desk has confirmed it.")); }
    if (held.size) { parts.push(line("Keep this page open: this phone can keep nothing by itself.")); }
    return parts;
  };
  const refusal = (item) => {
    const actions = document.createElement("div");
    actions.className = "actions";
    actions.append(
      button("Send it again", () => { delete item.refused; keep(item); show(); send(); }),
      button("I have read it", () => { drop(item); show(); }),
    );
    return [line(`“${item.words}” was not taken. ${item.refused}`, true), actions];
  };
  const show = () => {
    const items = waiting();
    const refused = mine().filter((item) => item.refused);
    const others = all().filter((item) => item.member !== MEMBER);
    const parts = [...(items.length ? said(items) : []), ...refused.flatMap(refusal)];
    if (others.length) { parts.push(line("Somebody else's reports are kept on this phone. They are sent when that person signs in here.")); }
    note.classList.toggle("refused", refused.length > 0);
    note.replaceChildren(...parts);
    note.hidden = !parts.length;
    dress(items);
  };
  // A step that was pressed makes room for the next one, for the vet may reach the farm before the signal.
  const fits = (item, form) => item.address === form.getAttribute("action") && item.kind === (form.elements.kind?.value || "");
  const dress = (items) => {
    let next = true;
    for (const form of document.querySelectorAll("form[data-step]")) {
      const pressed = items.some((item) => fits(item, form));
      form.hidden = pressed || !next;
      next = next && pressed;
    }
    for (const form of document.querySelectorAll("form[data-offer]")) {
      const pressed = items.some((item) => fits(item, form));
      for (const each of form.querySelectorAll("button")) {
        each.dataset.words ||= each.textContent;
        each.textContent = pressed ? "Sending; not yours yet" : each.dataset.words;
        each.disabled = pressed;
      }
    }
  };

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
  const sendOne = async (item, token) => {
    const answer = await post(item, token);
    if (answer.status === 401) { return "signed out"; }
    if (answer.status >= 500 || LATER.includes(answer.status)) { return "no answer"; }
    const told = await answer.json().catch(() => ({}));
    if (told.code === "csrf_failed") { return "no answer"; }
    if (answer.ok) { drop(item); return { address: told.address }; }
    keep({ ...item, refused: told.detail || "The desk did not say why. Ring and tell them." });
    return "";
  };
  const sendAll = async () => {
    const standing = await (await ask("/sign-in/standing/", {})).json();
    if (String(standing.member) !== MEMBER) { trouble = standing.member ? "somebody else" : "signed out"; return null; }
    trouble = "";
    let done = null;
    for (let items = waiting(); items.length; items = waiting()) {
      const here = [...document.querySelectorAll("form[data-keep]")].some((form) => fits(items[0], form));
      const answer = await sendOne(items[0], standing.token);
      if (answer.address) { done = { address: answer.address, here: here || Boolean(done?.here) }; }
      else if (answer) { trouble = answer; return done; }
    }
    return done;
  };
  let sending = false;
  const send = async () => {
    if (sending || !waiting().length) { return; }
    sending = true;
    let done = null;
    try {
      // where the browser can, only one tab sends; where it cannot, the keys make twice into once
      done = navigator.locks ? await navigator.locks.request("kept", { ifAvailable: true }, (lock) => lock && sendAll()) : await sendAll();
    } catch { trouble = "no line"; }
    sending = false;
    show();
    if (done && !waiting().length) { moveOn(done); }
  };
  // Goes to what was sent, unless somebody is writing here: then the page is only brought up to date.
  const changed = (each) => {
    if (each.matches("[type=checkbox], [type=radio]")) { return each.checked !== each.defaultChecked; }
    if (!each.options) { return each.value !== each.defaultValue; }
    return each.selectedIndex !== Math.max(0, [...each.options].findIndex((option) => option.defaultSelected));
  };
  const written = () => [...document.querySelectorAll("main form:not([data-keep]) :is(input:not([type=hidden]), textarea, select)")].some(changed);
  const moveOn = ({ address, here }) => {
    if (here && !written()) { if (location.pathname === address) { location.reload(); } else { location.assign(address); } return; }
    for (const part of document.querySelectorAll("[data-live]")) { window.htmx?.trigger(part, "refresh"); }
  };

  // --- pressing -----------------------------------------------------------------------------
  const justPressed = () => {
    let last = 0;
    try { last = Number(sessionStorage.getItem("pressed")) || 0; sessionStorage.setItem("pressed", String(Date.now())); } catch { return false; }
    return Math.abs(Date.now() - last) < PRESSED_TWICE_MS;
  };
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("[data-keep]")) { return; }
    event.preventDefault();
    if (justPressed()) { return; }
    const fields = Object.fromEntries(new FormData(form, event.submitter));
    delete fields.csrfmiddlewaretoken;
    if (event.submitter?.name) { fields.key = `${fields.key}-${event.submitter.value}`; }
    if (!all().some((item) => item.key === fields.key && !item.refused)) {
      keep({
        key: fields.key, member: MEMBER, address: form.getAttribute("action"), kind: fields.kind || "",
        offer: "offer" in form.dataset, words: form.dataset.keep || event.submitter?.textContent.trim(), fields, pressed: Date.now(),
      });
    }
    show();
    note.scrollIntoView({ block: "nearest" });
    send();
  }, true);

  addEventListener("online", send);
  addEventListener("storage", show);
  addEventListener("pageshow", () => { show(); send(); });
  addEventListener("visibilitychange", () => { if (!document.hidden) { send(); } });
  document.addEventListener("htmx:afterSwap", () => dress(waiting()));
  setInterval(send, AGAIN_MS);
  show();
  send();
})();
