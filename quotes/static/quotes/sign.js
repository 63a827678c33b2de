// A sign-off that works without a connection: what is entered is kept on the phone, photos too, and
// sent when the connection is back. Its key makes the server keep it once, however often it comes.
// Photos for which the server had no room stay kept as well, and are sent again less often.
(() => {
  "use strict";
  const form = document.querySelector("form[data-signs]");
  if (!form) return;
  const place = `sign.${form.dataset.signs}`;
  const shown = (id, on) => { document.getElementById(id).hidden = !on; };
  const button = form.querySelector(".actions button");
  const summary = document.getElementById("sign-problems");
  const PHOTOS_AGAIN_MS = 180000;
  let waiting = false; // signed, and not yet taken by the server, photos and all
  let notBefore = 0;
  let sending = false;

  const store = (mode, act) => new Promise((done, failed) => {
    const opening = indexedDB.open("setwright", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("signs");
    opening.onerror = () => failed(opening.error);
    opening.onsuccess = () => {
      const work = opening.result.transaction("signs", mode);
      const asked = act(work.objectStore("signs"));
      work.oncomplete = () => { opening.result.close(); done(asked.result); };
      work.onerror = () => failed(work.error);
    };
  });

  const entered = () => [...new FormData(form)].filter(([name, value]) =>
    name !== "csrfmiddlewaretoken" && !(value instanceof File && value.size === 0));

  const keep = () => store("readwrite", (kept) => kept.put({ pairs: entered(), waiting }, place)).catch(() => {});
  const forget = () => store("readwrite", (kept) => kept.delete(place)).catch(() => {});

  const put = (name, value) => {
    const field = form.elements[name];
    if (!field) return;
    if (field.type === "checkbox") field.checked = true;
    else if (field.type === "file") {
      const files = new DataTransfer();
      for (const file of field.files) files.items.add(file);
      files.items.add(value);
      field.files = files.files;
    } else field.value = value;
  };

  const restore = async () => {
    const kept = await store("readonly", (all) => all.get(place)).catch(() => null);
    if (!kept) return;
    for (const [name, value] of kept.pairs) put(name, value);
    waiting = kept.waiting;
    if (waiting) { shown("sign-kept", true); send(); }
  };

  const tell = (problems) => {
    const list = summary.querySelector("ul");
    list.replaceChildren(...problems.map(({ id, message }) => {
      const link = Object.assign(document.createElement("a"), { href: `#${id}`, textContent: message });
      const line = document.createElement("li");
      line.append(link);
      return line;
    }));
    summary.hidden = problems.length === 0;
    if (problems.length) summary.focus();
  };

  const send = async () => {
    if (!waiting || sending || Date.now() < notBefore) return;
    sending = true;
    let answer = null;
    try {
      answer = await fetch(location.href, {
        method: "POST", body: new FormData(form), redirect: "manual", headers: { "X-Sent-By": "script" },
      });
    } catch { /* no connection: it stays kept */ }
    sending = false;
    shown("sign-kept", !answer);
    if (answer) await taken(answer);
  };

  const taken = async (answer) => {
    const told = answer.headers.get("Content-Type")?.includes("json") ? await answer.json() : null;
    shown("sign-again", !told && answer.status < 500);
    shown("sign-later", !told && answer.status >= 500);
    shown("sign-photos", Boolean(told?.missing));
    if (told?.missing) {
      document.querySelector("#sign-photos span").textContent = told.missing;
      notBefore = Date.now() + PHOTOS_AGAIN_MS;
      tell([]);
    } else if (told?.done) {
      waiting = false;
      await forget();
      if (window.caches) await caches.delete("sign-1");
      shown("sign-sent", true);
      button.disabled = true;
      tell([]);
    } else if (told?.problems) {
      waiting = false;
      await keep();
      tell(told.problems);
    }
  };

  // A browser that drops the page in the background finds it again without a connection.
  const keepPage = async () => {
    if (!navigator.serviceWorker || !window.caches) return;
    await navigator.serviceWorker.register(form.dataset.worker);
    await navigator.serviceWorker.ready;
    const parts = [...document.querySelectorAll("script[src], link[rel=stylesheet]")];
    const kept = await caches.open("sign-1");
    await kept.addAll([location.href, ...parts.map((part) => part.src || part.href)]);
    document.documentElement.dataset.kept = "yes";
  };

  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    waiting = true;
    notBefore = 0;
    if (form.elements.signed_at?.value === "") form.elements.signed_at.value = new Date().toISOString();
    await keep();
    await send();
  });
  window.addEventListener("online", send);
  setInterval(send, 15000);
  restore();
  keepPage().catch(() => {});
})();
