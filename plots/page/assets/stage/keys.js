// Keys: single letters only while no field has the focus, and they can be switched off.
const STORE = "tieup.keys";

export const on = () => localStorage.getItem(STORE) !== "off";
export const switchKeys = (yes) => (yes ? localStorage.removeItem(STORE) : localStorage.setItem(STORE, "off"));

const typing = (e) => e.closest("input:not([type=radio]):not([type=checkbox]):not([type=range]), select, textarea, [contenteditable]");

export function listen(stage, page) {
  const acts = {
    ".": () => stage.go(stage.step + 1),
    ",": () => stage.go(stage.step - 1),
    v: () => stage.view(),
    f: () => page.present(),
    w: () => document.getElementById("work")?.click(),
    m: () => page.marks(),
    "?": () => page.help(),
  };
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]")) return;
    if (event.key === "Escape") return page.present(false);
    if (typing(event.target)) return;
    if (event.key === " " && event.target.closest("button, summary, a")) return;
    if (event.key === " ") {
      if (!stage.figure) return;
      event.preventDefault();
      return stage.play();
    }
    // Arrows move the selector, as they do within it, where nothing has the focus.
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (step && event.target === document.body) {
      const all = [...document.querySelectorAll("#console [type=radio]")];
      const to = all[(all.findIndex((r) => r.checked) + step + all.length) % all.length];
      if (!to) return;
      event.preventDefault();
      to.focus({ preventScroll: true });
      to.click();
      return;
    }
    if (!on()) return;
    const key = event.key.toLowerCase();
    if (key === "h") return stage.hold(true);
    if (acts[key] && !event.repeat) {
      event.preventDefault();
      acts[key]();
    }
  });
  addEventListener("keyup", (event) => event.key.toLowerCase() === "h" && stage.hold(false));
  addEventListener("blur", () => stage.hold(false));
}
