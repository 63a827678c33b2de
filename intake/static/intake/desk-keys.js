// Keys of the desk: j and k walk the rows, "/" goes to the search, [data-key] presses its control.
(() => {
  const typing = (el) => el.closest("input, textarea, select, [contenteditable]");
  const links = () => [...document.querySelectorAll("[data-row] a[id]")];
  const step = (by) => {
    const all = links();
    const at = all.indexOf(document.activeElement);
    const next = all[at < 0 ? 0 : Math.min(all.length - 1, Math.max(0, at + by))];
    if (next) { next.focus(); next.scrollIntoView({ block: "nearest" }); }
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Escape" && typing(event.target)) { event.target.blur(); return; }
    if (typing(event.target)) return;
    if (event.key === "j") step(1);
    else if (event.key === "k") step(-1);
    else {
      const target = document.querySelector(`[data-key="${CSS.escape(event.key)}"]`);
      if (!target) return;
      event.preventDefault();
      if (typing(target)) target.focus(); else target.click();
    }
  });
})();
