// Keeps what is typed when the connection is lost, says so, and sends it once when it is back.
(() => {
  "use strict";
  const form = document.querySelector("form[data-keeps]");
  if (!form) return;
  const notice = document.getElementById("lost");
  const waiting = notice.querySelector("[data-waiting]");
  const place = `setwright:${location.pathname}`;
  let pressed = false; // the button was pressed while there was no connection
  let keeping = 0; // requests under way that keep what was typed
  let sent = false; // the form itself is on its way: nothing may be kept behind its back
  let held = false; // sending waits for what is still being kept
  let button = null; // what was pressed then, if it was a button

  const typed = () => {
    const pairs = [...new FormData(form)].filter(
      ([name, value]) => typeof value === "string" && !["csrfmiddlewaretoken", "seen"].includes(name),
    );
    return JSON.stringify({ seen: form.elements.seen.value, pairs });
  };

  const remember = () => {
    try { localStorage.setItem(place, typed()); } catch { /* a full or closed store: the page still holds it */ }
  };

  const forget = () => {
    try { localStorage.removeItem(place); } catch { /* nothing was kept */ }
  };

  const lost = () => {
    remember();
    waiting.hidden = !pressed;
    notice.hidden = false;
  };

  const found = () => {
    notice.hidden = true;
    if (pressed) form.requestSubmit();
  };

  const put = (field, value) => {
    if (field.type === "radio" || field.type === "checkbox") {
      if (field.value === value) field.checked = true;
    } else if (field.type !== "hidden" && field.type !== "file") field.value = value;
  };

  // What was typed offline comes back after a reload, unless the answers changed elsewhere.
  const restore = () => {
    let kept = null;
    try { kept = JSON.parse(localStorage.getItem(place)); } catch { return; }
    if (!kept || kept.seen !== form.elements.seen.value) return forget();
    for (const [name, value] of kept.pairs) {
      for (const field of form.querySelectorAll(`[name="${CSS.escape(name)}"]`)) put(field, value);
    }
    form.dispatchEvent(new Event("change", { bubbles: true }));
  };

  const own = (event) => event.target === form;

  form.addEventListener("submit", (event) => {
    if (!navigator.onLine) {
      event.preventDefault();
      pressed = true;
      held = false;
      lost();
    } else if (keeping > 0 && !held) {
      event.preventDefault();
      held = true;
      button = event.submitter;
    } else {
      sent = true;
      forget();
    }
  });
  form.addEventListener("htmx:beforeRequest", (event) => { if (sent && own(event)) event.preventDefault(); });
  form.addEventListener("htmx:beforeSend", (event) => { if (own(event)) keeping += 1; });
  form.addEventListener("htmx:afterRequest", (event) => {
    if (!own(event)) return;
    keeping -= 1;
    if (held && keeping === 0) form.requestSubmit(button);
  });
  window.addEventListener("pageshow", () => { sent = false; held = false; button = null; });
  form.addEventListener("input", () => { if (!navigator.onLine) remember(); });
  document.body.addEventListener("htmx:sendError", lost);
  document.body.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.successful && !notice.hidden) { forget(); found(); }
  });
  window.addEventListener("offline", lost);
  window.addEventListener("online", found);
  restore();
})();
