// Says that a photo is too large before it is sent.
(() => {
  "use strict";
  const field = document.getElementById("q-photo");
  if (!field) return;
  const sentence = document.getElementById("q-photo-error");
  field.addEventListener("change", () => {
    const large = [...field.files].some((file) => file.size > Number(field.dataset.largest));
    sentence.textContent = large ? sentence.dataset.tooLarge : "";
    if (large) field.value = "";
  });
})();
