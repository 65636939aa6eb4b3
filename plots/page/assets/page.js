// The page works as forms and links by itself. This script makes it live: it
// fetches the next state and puts it in place, takes train files that are
// dropped, and turns the gears by the speeds that the server wrote into them.
// It knows nothing of gear trains.
"use strict";

const page = document.getElementById("page");
const told = document.getElementById("told");

// --- The next state ---------------------------------------------------------

let latest = 0; // the request whose answer is shown; older ones are dropped

// show fetches a state and puts it in place of the one that is shown. What had
// the focus keeps it.
async function show(address, { body = null, history = "push" } = {}) {
  const mine = ++latest;
  let response, text;
  try {
    response = await fetch(address, body ? { method: "POST", body } : {});
    text = await response.text();
  } catch {
    if (mine === latest) told.textContent = "tieup does not answer: is it still running?";
    return;
  }
  const next = new DOMParser().parseFromString(text, "text/html");
  const content = next.getElementById("page");
  if (!content) {
    if (mine === latest) told.textContent = text;
    return;
  }
  await drawn(content);
  if (mine !== latest) return;
  put(next, content);
  // What is refused leaves the address as it is.
  if (history !== "none" && response.ok) {
    const to = response.url;
    if (history === "replace" || to === location.href) window.history.replaceState(null, "", to);
    else window.history.pushState(null, "", to);
  }
}

// drawn waits until the drawings of a state can be shown, though not for long, so
// that nothing on the page jumps when they come.
function drawn(content) {
  const loads = [...content.querySelectorAll(".drawing img")].map((img) => {
    const ahead = new Image();
    ahead.src = img.getAttribute("src");
    return ahead.decode().catch(() => {});
  });
  return Promise.race([Promise.all(loads), new Promise((done) => setTimeout(done, 600))]);
}

function put(next, content) {
  const focused = document.activeElement && document.activeElement.id;
  const open = [...page.querySelectorAll("details[open]")].map((d) => d.id);
  const { scrollX, scrollY } = window;
  page.replaceChildren(...content.childNodes);
  for (const d of page.querySelectorAll("details")) if (open.includes(d.id)) d.open = true;
  document.title = next.title;
  document.documentElement.dataset.shade = next.documentElement.dataset.shade || "";
  prepare();
  window.scrollTo(scrollX, scrollY);
  refocus(focused);
  told.textContent = [...page.querySelectorAll("[data-tell]")].map((e) => e.textContent.trim()).slice(0, 3).join(" ");
}

// refocus gives the focus back to what had it, or to what stands in its place.
function refocus(id) {
  if (!id) return;
  const same = document.getElementById(id);
  if (same && !same.hidden && same !== document.getElementById("reveal")) {
    same.focus({ preventScroll: true });
    return;
  }
  const instead = { drop: "add", reveal: "lesson-head", next: "lesson-head" }[id.split("-")[0]];
  const other = instead && document.getElementById(instead);
  if (other) {
    if (other.tabIndex < 0) other.tabIndex = -1;
    other.focus({ preventScroll: instead !== "lesson-head" });
  }
}

// addressOf is where a form leads when it is sent by GET.
function addressOf(form, button) {
  const query = new URLSearchParams();
  for (const [name, value] of new FormData(form, button)) {
    if (typeof value === "string" && value !== "") query.append(name, value);
  }
  return new URL("/?" + query, location.href);
}

function send(form, button) {
  if (form.method === "post") show(form.action, { body: new FormData(form, button) });
  else show(addressOf(form, button));
}

page.addEventListener("submit", (event) => {
  if (!event.target.hasAttribute("data-live")) return;
  event.preventDefault();
  send(event.target, event.submitter);
});

page.addEventListener("change", (event) => {
  const input = event.target;
  if (input.id === "pace") {
    const address = new URL(location.href);
    address.searchParams.set("pace", input.value);
    show(address, { history: "replace" });
    return;
  }
  if (!input.form || !input.form.hasAttribute("data-live") || input.hasAttribute("data-wait")) return;
  if (input.type === "file" && !input.files.length) return;
  send(input.form, null);
});

page.addEventListener("click", (event) => {
  const link = event.target.closest("a");
  if (!link || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
  const to = new URL(link.href);
  if (to.origin !== location.origin || to.pathname !== "/" || to.hash) return;
  event.preventDefault();
  show(to);
});

window.addEventListener("popstate", () => show(location.href, { history: "none" }));

// --- Dropped files ----------------------------------------------------------

window.addEventListener("dragover", (event) => {
  if (![...event.dataTransfer.types].includes("Files")) return;
  event.preventDefault();
  document.documentElement.classList.add("dropping");
});
for (const end of ["dragleave", "drop"]) {
  window.addEventListener(end, () => document.documentElement.classList.remove("dropping"));
}
window.addEventListener("drop", (event) => {
  const file = event.dataTransfer.files[0];
  if (!file) return;
  event.preventDefault();
  const form = page.querySelector("form.upload");
  const body = new FormData();
  body.append("file", file, file.name);
  show(form.action, { body });
});

// --- Turning gears ----------------------------------------------------------

const still = window.matchMedia("(prefers-reduced-motion: reduce)");
let turned = 0; // turns of the input so far
let running = !still.matches;
let last = 0; // time of the last frame, 0 when none
let waiting = 0; // the frame that was asked for

// draw turns every part by its own speed. The place of a part stands in the
// transform that it was written with.
function draw() {
  for (const part of page.querySelectorAll("[data-turn]")) {
    const angle = ((turned * Number(part.dataset.turn)) % 1) * 360;
    if (part.dataset.place === undefined) part.dataset.place = part.getAttribute("transform") || "";
    part.setAttribute("transform", `${part.dataset.place} rotate(${angle.toFixed(2)})`.trim());
  }
}

function frame(now) {
  const pace = document.getElementById("pace");
  if (!pace) return; // nothing turns in this state
  if (last) turned += (Math.min(now - last, 100) / 60000) * Number(pace.value);
  last = now;
  draw();
  waiting = requestAnimationFrame(frame);
}

function run(on) {
  running = on;
  const play = document.getElementById("play");
  if (play) play.textContent = on ? "Pause" : "Turn";
  cancelAnimationFrame(waiting);
  last = 0;
  if (on) waiting = requestAnimationFrame(frame);
}

const step = 1 / 24; // of a turn of the input

page.addEventListener("click", (event) => {
  switch (event.target.id) {
    case "play":
      run(!running);
      break;
    case "play-shift":
      playShift();
      break;
    case "one-step":
      run(false);
      turned += step;
      draw();
      break;
    case "copy":
      navigator.clipboard.writeText(document.getElementById("case").href).then(
        () => (told.textContent = "The link is copied."),
        () => (told.textContent = "The browser does not let the page copy: copy the link itself."),
      );
      break;
    case "print":
      window.print();
      break;
  }
});

page.addEventListener("input", (event) => {
  if (event.target.id === "pace") document.getElementById("pace-is").value = event.target.value;
});

still.addEventListener("change", () => run(!still.matches));

// --- A shift in time ---------------------------------------------------------

let playing = 0; // the timer of the next row, 0 when none

// playShift goes through the course of a shift row by row, ten times slower than
// it went, and says each row under the button. A second press stops it.
function playShift() {
  const rows = [...page.querySelectorAll("#course tbody tr")];
  const heads = [...page.querySelectorAll("#course thead th")].map((h) => h.textContent);
  const button = document.getElementById("play-shift");
  const label = button.dataset.label || (button.dataset.label = button.textContent);
  const stop = () => {
    clearTimeout(playing);
    playing = 0;
    button.textContent = label;
  };
  if (playing) return stop();
  button.textContent = "Stop";
  const at = (row) => Number(row.cells[0].textContent);
  const next = (k) => {
    if (!rows[k].isConnected) return stop();
    for (const row of rows) row.classList.toggle("here", row === rows[k]);
    const words = [...rows[k].cells].map((c, i) => `${heads[i]} ${c.textContent}`);
    document.getElementById("shift-now").textContent = words.join(", ");
    if (k + 1 === rows.length) return stop();
    playing = setTimeout(next, 10000 * (at(rows[k + 1]) - at(rows[k])), k + 1);
  };
  next(0);
}

// prepare readies what only works with this script.
function prepare() {
  for (const id of ["play", "one-step", "play-shift", "copy", "print"]) {
    const button = document.getElementById(id);
    if (button) button.hidden = false;
  }
  for (const wide of page.querySelectorAll("[data-here]")) {
    for (const head of wide.querySelectorAll("tbody th")) {
      if (head.textContent === wide.dataset.here) head.parentElement.classList.add("here");
    }
  }
  draw();
  run(running);
}

prepare();
