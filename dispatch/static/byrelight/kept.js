// What was pressed here and has not reached the desk: one entry for each press, so that two tabs never write
// over one another. Where the phone keeps nothing (a private window), the open page does.
window.kept = (() => {
  const PREFIX = "kept:";
  const note = document.getElementById("kept-reports");
  const member = note?.dataset.member;
  const practice = note?.dataset.practice;

  const held = new Map();
  const stored = () => {
    const found = [];
    try {
      for (let at = 0; at < localStorage.length; at += 1) {
        const name = localStorage.key(at);
        if (name.startsWith(PREFIX)) { found.push(JSON.parse(localStorage.getItem(name))); }
      }
    } catch { /* the page's own are all there are */ }
    return found.filter((item) => !held.has(item.key));
  };
  const all = () => [...held.values(), ...stored()].sort((one, other) => one.pressed - other.pressed);
  const keep = (item) => {
    try {
      localStorage.setItem(PREFIX + item.key, JSON.stringify(item));
      held.delete(item.key);
    } catch { held.set(item.key, item); }
  };
  const drop = (item) => {
    held.delete(item.key);
    try { localStorage.removeItem(PREFIX + item.key); } catch { /* it was never there */ }
  };
  const mine = () => all().filter((item) => item.member === member);
  addEventListener("beforeunload", (event) => { if (held.size) { event.preventDefault(); } });

  return {
    note, member, practice, keep, drop,
    find: (key) => all().find((item) => item.key === key),
    waiting: () => mine().filter((item) => !item.refused),
    refused: () => mine().filter((item) => item.refused),
    others: () => all().filter((item) => item.member !== member),
    onlyHere: () => held.size > 0,
    // Forms of one address are told apart by what they report, or by what they put right.
    mark: (form) => form.elements.kind?.value || form.elements.corrects?.value || "",
    fits: (item, form) => item.address === form.getAttribute("action") && item.kind === window.kept.mark(form),
  };
})();
