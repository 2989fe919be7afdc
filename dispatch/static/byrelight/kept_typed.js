// Forms with something typed in them (data-typed). Once kept, the form is empty again for the next one; what
// the desk refuses, or warns of, comes back into it to be put right, under the same key: sent again, it is the
// same one.
(() => {
  const { kept } = window;
  const formFor = (item) => [...document.querySelectorAll("form[data-typed]")].find((form) => kept.fits(item, form));
  const fresh = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const hidden = (name, value) => Object.assign(document.createElement("input"), { type: "hidden", name, value });
  const lookedUp = (form) => form.querySelectorAll("[hx-post]");

  const changed = (field) => {
    if (field.matches("[type=hidden], button, fieldset, output")) { return false; }
    if (field.matches("[type=checkbox], [type=radio]")) { return field.checked !== field.defaultChecked; }
    if (!field.options) { return field.value !== field.defaultValue; }
    return field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected));
  };
  const isWritten = (form) => [...form.elements].some(changed);

  // What the form says in one line, by the pattern in its data-keep: "{dose_amount} {dose_unit}, {animal}".
  const shownOf = (field) => (field?.selectedOptions ? (field.value && field.selectedOptions[0]?.textContent) : field?.value) || "";
  const words = (form) => form.dataset.keep.replace(/\{(\w+)\}/g, (all, name) => shownOf(form.elements[name]).trim()).replace(/ +/g, " ").trim();

  const clear = (form) => {
    form.reset();
    form.elements.key.value = fresh();
    form.querySelector(".kept-refusal")?.remove();
    for (const part of lookedUp(form)) { part.replaceChildren(); }
    form.closest("details")?.removeAttribute("open");
  };

  // The reason, say, has its field only where the desk has asked for it.
  const keepWithoutField = (form, item) => {
    const part = lookedUp(form)[0];
    if (!part) { return; }
    const lost = Object.keys(item.fields).filter((name) => !form.elements[name] && name !== "seen");
    part.append(...lost.map((name) => hidden(name, item.fields[name])));
  };
  const fill = (form, item) => {
    const values = { ...item.fields, ...item.fill };
    for (const field of form.elements) {
      if (!field.name || field.matches("[type=hidden], button, fieldset, output")) { continue; }
      if (field.matches("[type=checkbox], [type=radio]")) { field.checked = values[field.name] === field.value; } else { field.value = values[field.name] ?? ""; }
    }
    form.elements.key.value = item.key;
  };
  const unfold = (form) => {
    for (let fold = form.closest("details"); fold; fold = fold.parentElement.closest("details")) { fold.open = true; }
    for (const fold of form.querySelectorAll("details")) { fold.open = fold.open || [...fold.querySelectorAll("input, select, textarea")].some(changed); }
  };
  const explain = (form, item) => {
    form.querySelector(".kept-refusal")?.remove();
    const said = Object.assign(document.createElement("div"), { className: "say refused kept-refusal", id: "kept-refusal", tabIndex: -1 });
    said.setAttribute("role", "alert");
    said.append(Object.assign(document.createElement("p"), { className: "strong", textContent: item.refused }));
    const field = item.field ? form.querySelector(`[name="${CSS.escape(item.field)}"]:not([type=hidden])`) : null;
    if (field) { field.after(said); } else { form.prepend(said); }
    for (let fold = field?.closest("details"); fold; fold = fold.parentElement.closest("details")) { fold.open = true; }
    field?.setAttribute("aria-invalid", "true");
    field?.setAttribute("aria-describedby", said.id);
    field?.addEventListener("input", () => field.removeAttribute("aria-invalid"), { once: true });
    (field || said).focus({ preventScroll: true });
    (field || said).scrollIntoView({ block: field ? "center" : "start" });
  };
  const putBack = (item) => {
    const form = formFor(item);
    fill(form, item);
    keepWithoutField(form, item);
    unfold(form);
    explain(form, item);
    for (const part of lookedUp(form)) { window.htmx?.trigger(part, "look"); }
  };

  document.addEventListener("htmx:sendError", ({ target }) => {
    if (!target.dataset?.unlooked) { return; }
    const reason = target.querySelector("[name=override_reason]")?.value;
    const said = Object.assign(document.createElement("p"), { className: "caution", textContent: target.dataset.unlooked });
    target.replaceChildren(said, ...(reason ? [hidden("override_reason", reason)] : []));
  });

  Object.assign(kept, { formFor, words, clear, isWritten, putBack });
})();
