// Keeps the sign-off page at hand: asked of the network first, of the phone where there is none.
"use strict";
const KEPT = "sign-1";

const wanted = (url) => url.origin === location.origin
  && (/\/sign\/(delivery|return)\/$/.test(url.pathname) || url.pathname.includes("/static/"));

const fetched = async (request) => {
  const kept = await caches.open(KEPT);
  try {
    const fresh = await fetch(request);
    if (fresh.ok && !fresh.redirected) await kept.put(request, fresh.clone());
    return fresh;
  } catch {
    return (await kept.match(request, { ignoreVary: true })) ?? Response.error();
  }
};

self.addEventListener("fetch", (event) => {
  if (event.request.method === "GET" && wanted(new URL(event.request.url))) event.respondWith(fetched(event.request));
});
