// Reports of a visit survive a dead spot: what is pressed without signal is kept on this phone with the
// moment it happened, and sent when the line is back. Each carries its own key, so a report that
// arrives twice is one report. Nothing is shown as done before the desk has confirmed it.
(() => {
  const NAME = "reports-to-send";
  const note = document.getElementById("kept-reports");
  const read = () => { try { return JSON.parse(localStorage.getItem(NAME)) || []; } catch { return []; } };
  const write = (list) => { try { localStorage.setItem(NAME, JSON.stringify(list)); } catch { /* no storage: see below */ } };
  const show = (refused) => {
    const waiting = read().length;
    if (refused) { note.textContent = refused; } else if (waiting) {
      note.textContent = waiting === 1 ? "Sending one report; it is kept on this phone until the desk has it." : `Sending ${waiting} reports; they are kept on this phone until the desk has them.`;
    }
    note.hidden = !refused && !waiting;
  };
  const token = () => document.querySelector("[name=csrfmiddlewaretoken]").value;
  const post = (report) => fetch(report.address, {
    method: "POST", credentials: "same-origin", redirect: "error",
    headers: { "X-CSRFToken": token(), Accept: "application/json" }, body: new URLSearchParams(report.fields),
  });
  let sending = false;
  const send = async () => {
    if (sending) { return; }
    sending = true;
    let refused = "";
    let sent = 0;
    try {
      for (let list = read(); list.length; list = read()) {
        const answer = await post(list[0]);
        if (answer.status >= 500 || answer.status === 429) { break; }
        write(list.slice(1));
        if (answer.ok) { sent += 1; } else {
          const page = new DOMParser().parseFromString(await answer.text(), "text/html");
          refused = page.querySelector("[role=alert]")?.textContent.trim() || "The desk refused a report. Ring and tell them.";
        }
      }
    } catch { /* still no line: kept, and tried again */ }
    sending = false;
    show(refused);
    if (sent && !read().length && !refused) { location.reload(); }
  };
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("[data-keep]")) { return; }
    event.preventDefault();
    const fields = Object.fromEntries(new FormData(form, event.submitter));
    fields.happened_at = new Date().toISOString();
    fields.key = `${fields.key}-${fields.kind}${fields.minutes || ""}`;
    write([...read().filter((each) => each.fields.key !== fields.key), { address: form.getAttribute("action"), fields }]);
    show();
    send();
  }, true);
  addEventListener("online", send);
  setInterval(() => { if (read().length) { send(); } }, 10000);
  show();
  if (read().length) { send(); }
})();
