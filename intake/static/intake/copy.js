// Copies the customer's link, and says that it did.
(() => {
  "use strict";
  const button = document.getElementById("copy-link");
  if (!button || !navigator.clipboard) return;
  const field = document.getElementById("own-link");
  const done = document.getElementById("copied");
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(field.value);
      done.textContent = done.dataset.done;
    } catch {
      field.select();
    }
  });
})();
