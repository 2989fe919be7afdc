// What the page says of what is kept on this phone. Nothing is shown as done before the desk has confirmed it,
// and a refusal stays until somebody has read it.
(() => {
  const { kept } = window;
  const { note } = kept;
  if (!note) { return; }
  const zone = document.querySelector("[data-clock]")?.dataset.clock;
  const clock = new Intl.DateTimeFormat("en-IE", { weekday: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone });
  const landed = [];  // what reached the record while this page stood open

  const made = (tag, values) => Object.assign(document.createElement(tag), values);
  const line = (text, strong) => made("p", { textContent: text, className: strong ? "strong" : "" });
  const button = (text, press) => {
    const one = made("button", { type: "button", className: "line", textContent: text });
    one.addEventListener("click", () => press(one));
    return one;
  };
  // What cannot be taken back asks once more, in the words of what it does.
  const twice = (text, surely, press) => button(text, (one) => {
    if (one.textContent === surely) { press(); } else { one.textContent = surely; }
  });
  const actions = (...buttons) => {
    const row = made("div", { className: "actions" });
    row.append(...buttons);
    return row;
  };
  const quoted = (items) => items.map((item) => `“${item.words}”`).join(", ");
  const pressed = (item) => `“${item.words}”, ${clock.format(item.pressed).replace(",", "")}`;
  const caution = (items) => [...new Set(items.map((item) => item.typed))].map((text) => line(text));

  const subject = (items) => {
    if (items.some((item) => item.typed)) { return "what you wrote is"; }
    return `your ${items.length === 1 ? "report is" : `${items.length} reports are`}`;
  };
  const signIn = () => made("a", { href: `/sign-in/?next=${encodeURIComponent(location.pathname)}`, className: "button", textContent: "Sign in again" });
  const held = (items) => {
    if (kept.trouble === "signed out") {
      return [line(`You are signed out. Sign in again; ${subject(items)} kept on this phone: ${quoted(items)}.`, true), signIn()];
    }
    if (kept.trouble === "somebody else") {
      return [line(`Somebody else is signed in on this phone now. ${subject(items).replace(/^./, (letter) => letter.toUpperCase())} kept until you sign in again.`, true)];
    }
    const reports = items.filter((item) => !item.typed);
    if (!reports.length) { return []; }
    const [them, it] = reports.length === 1 ? ["It is", "it"] : ["They are", "them"];
    return [line(`Sending ${quoted(reports)}. ${them} kept on this phone until the desk has ${it}.`, true)];
  };
  const notInTheRecord = (items) => {
    const typed = items.filter((item) => item.typed);
    if (!typed.length) { return []; }
    return [
      ...typed.map((item) => line(`Kept on this phone, not yet in the record: ${pressed(item)}.`, true)),
      ...caution(typed),
      ...(kept.trouble === "no line" ? [line("No signal. It is sent by itself when the line is back.")] : []),
    ];
  };
  const waiting = (items) => [
    ...held(items),
    ...notInTheRecord(items),
    ...(items.some((item) => item.offer) ? [line("The call is not yours before the desk has confirmed it.")] : []),
    ...(kept.onlyHere() ? [line("Keep this page open: this phone can keep nothing by itself.")] : []),
  ];

  const drop = (item) => { kept.drop(item); show(); };
  const again = (item) => { delete item.refused; kept.keep(item); show(); kept.send(); };
  const toForm = (item) => {
    const form = kept.formFor(item);
    if (!form) {
      const page = new URL(item.page, location.origin);
      page.searchParams.set("kept", item.key);
      return actions(Object.assign(made("a", { href: page.pathname + page.search, className: "button", textContent: "Put it right" })));
    }
    const back = () => kept.putBack(item);
    return kept.isWritten(form) ? twice("Put it right", "It takes the place of what is being typed there: put it right", back) : button("Put it right", back);
  };
  const refusal = (item) => {
    if (!item.typed) {
      return [line(`“${item.words}” was not taken. ${item.refused}`, true), actions(button("Send it again", () => again(item)), button("I have read it", () => drop(item)))];
    }
    return [
      line(`Not in the record: ${pressed(item)}. ${item.refused}`, true),
      ...(item.warnings || []).map((text) => line(text)),
      ...caution([item]),
      actions(toForm(item), twice("Drop it", "It was not given, or stands in the record already: drop it", () => drop(item))),
    ];
  };
  const ofOthers = (items) => {
    if (!items.length) { return []; }
    const typed = items.filter((item) => item.typed && item.practice === kept.practice);
    return [
      line("Somebody else's reports are kept on this phone. They are sent when that person signs in here."),
      ...typed.map((item) => line(`Not yet in the record: ${pressed(item)}.`, true)),
      ...caution(typed),
    ];
  };
  const leaving = () => (kept.leaving ? [line("It is sent only while you are signed in on this phone. Press “Sign out” once more to go all the same.", true)] : []);
  const arrived = ({ item, address }) => {
    const told = line(`In the record now: “${item.words}”. `, true);
    told.append(made("a", { href: address, textContent: "Look at it", target: "_blank", rel: "noopener" }));  // something may be typed here
    return told;
  };

  // Beside what the desk has on record, so that no list looks whole that is not.
  const listBeside = () => {
    for (const place of document.querySelectorAll("[data-kept-of]")) {
      const here = [...kept.waiting(), ...kept.refused()].filter((item) => item.address === place.dataset.keptOf);
      place.replaceChildren(...here.map((item) => made("p", { className: "caution", textContent: `Not in the record, kept on this phone: ${pressed(item)}.` })));
    }
  };
  const show = () => {
    const items = kept.waiting();
    const refused = kept.refused();
    const parts = [...landed.map(arrived), ...(items.length ? waiting(items) : []), ...refused.flatMap(refusal), ...ofOthers(kept.others()), ...leaving()];
    note.classList.toggle("refused", refused.length > 0 || items.some((item) => item.typed));
    note.replaceChildren(...parts);
    note.hidden = !parts.length;
    listBeside();
    dress(items);
  };
  // A step that was pressed makes room for the next one, for the vet may reach the farm before the signal.
  const dress = (items) => {
    let next = true;
    for (const form of document.querySelectorAll("form[data-step]")) {
      const done = items.some((item) => kept.fits(item, form));
      form.hidden = done || !next;
      next = next && done;
    }
    for (const form of document.querySelectorAll("form[data-offer]")) {
      const done = items.some((item) => kept.fits(item, form));
      for (const each of form.querySelectorAll("button")) {
        each.dataset.words ||= each.textContent;
        each.textContent = done ? "Sending; not yours yet" : each.dataset.words;
        each.disabled = done;
      }
    }
  };

  Object.assign(kept, { show, hasLanded: (item, address) => landed.push({ item, address }) });
  addEventListener("storage", show);
  document.addEventListener("htmx:afterSwap", () => dress(kept.waiting()));
})();
