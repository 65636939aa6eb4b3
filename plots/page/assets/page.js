// The page works as forms and links by itself. This script makes it live: it
// fetches the next state and puts it in place, takes train files that are
// dropped, and turns the gears by the speeds that the server wrote into them.
// It knows nothing of gear trains.
"use strict";

const page = document.getElementById("page");
const told = document.getElementById("told");
const trouble = document.getElementById("trouble");

// --- The next state ---------------------------------------------------------

let latest = 0; // the request whose answer is shown; older ones are dropped
let asking = null; // the request that is under way, with the form that it sends

// show fetches a state and puts it in place of the one that is shown, and says
// whether it did. What had the focus keeps it.
function show(address, { body = null, history = "push", form = null } = {}) {
  const mine = ++latest;
  const sent = take(form);
  const done = fetchState(address, { mine, sent, body, history, form });
  asking = { form, done };
  return done.finally(() => {
    if (mine === latest) asking = null;
  });
}

async function fetchState(address, { mine, sent, body, history, form }) {
  let response, text;
  try {
    response = await fetch(address, body ? { method: "POST", body } : {});
    text = await response.text();
  } catch {
    if (mine === latest) fail("tieup does not answer: is it still running? What is shown is as it was before.", form, sent);
    return false;
  }
  const next = new DOMParser().parseFromString(text, "text/html");
  const content = next.getElementById("page");
  if (!content) {
    if (mine === latest) fail(text.trim(), form, sent);
    return false;
  }
  await drawn(content);
  while (pressed) await pressed.over;
  if (mine !== latest) return false;
  put(next, content, response.ok ? touched : new Set([...touched, ...sent]), response.ok);
  // What is refused leaves the address as it is.
  if (history !== "none" && response.ok) {
    const to = response.url;
    if (history === "replace" || to === location.href) window.history.replaceState(null, "", to);
    else window.history.pushState(null, "", to);
  }
  return response.ok;
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

// fail says for all to see that there is no answer, and puts what was chosen in
// the form back to what is shown. What was typed stays.
function fail(text, form, sent = []) {
  trouble.textContent = text;
  trouble.hidden = false;
  for (const id of sent) touched.add(id);
  for (const field of form ? form.elements : []) {
    if (field.hasAttribute("data-wait")) continue;
    if (field.type === "radio" || field.type === "checkbox") field.checked = field.defaultChecked;
    for (const option of field.options || []) option.selected = option.defaultSelected;
  }
}

// put puts a state in place. Fields that were filled in since it was asked for,
// or that it refuses, keep what they hold.
function put(next, content, keep, ok) {
  const active = document.activeElement;
  const focus = { id: active.id, section: active.closest("section[aria-labelledby]")?.getAttribute("aria-labelledby") };
  const had = active !== document.body;
  const problem = document.getElementById("problem-head")?.textContent;
  const fields = [...keep].map((id) => document.getElementById(id)).filter(Boolean);
  const open = [...page.querySelectorAll("details[open]")].map((d) => d.id);
  const { scrollX, scrollY } = window;
  putting = true;
  page.replaceChildren(...content.childNodes);
  putting = false;
  for (const d of page.querySelectorAll("details")) if (open.includes(d.id)) d.open = true;
  for (const field of fields) refill(field);
  document.title = next.title;
  document.documentElement.dataset.shade = next.documentElement.dataset.shade || "";
  trouble.hidden = true;
  prepare();
  window.scrollTo(scrollX, scrollY);
  const wrong = document.getElementById("problem-head");
  if (!ok && wrong && wrong.textContent !== problem) goTo(wrong);
  else if (had) refocus(focus);
  told.textContent = [...page.querySelectorAll("[data-tell]")].map((e) => e.textContent.trim()).slice(0, 3).join(" ");
}

let putting = false; // the page is being replaced: what its fields then say is no news

// refill gives a field of the new state what it held.
function refill(old) {
  const field = document.getElementById(old.id);
  if (!field || field.type !== old.type) return;
  if (field.type === "radio" || field.type === "file") return;
  if (field.type === "checkbox") field.checked = old.checked;
  else if (field.value !== old.value) field.value = old.value;
}

// refocus gives the focus back to what had it, to what stands in its place, or to
// the heading of its section.
function refocus({ id, section }) {
  const kind = id.split("-")[0];
  const leadsTo = { reveal: "lesson-head", note: "next" }[kind]; // what is pressed leads on
  const same = !leadsTo && id && document.getElementById(id);
  if (same && !same.hidden) {
    same.focus({ preventScroll: true });
    return;
  }
  const instead = leadsTo || { drop: "add", next: "lesson-head" }[kind] || section;
  const other = (instead && document.getElementById(instead)) || page.querySelector("main h1");
  if (other) goTo(other, other.id === "add");
}

function goTo(element, preventScroll = false) {
  if (element.tabIndex < 0) element.tabIndex = -1;
  element.focus({ preventScroll });
}

// --- Forms and links ----------------------------------------------------------

// touched are the fields that were filled in and not sent yet.
const touched = new Set();

// take takes the fields of a form that is sent out of those, and returns them.
function take(form) {
  const sent = [...touched].filter((id) => form && document.getElementById(id)?.form === form);
  for (const id of sent) touched.delete(id);
  return sent;
}

// pressed is the press of a pointer that is not over: until its click is told, no
// new state may be put under it.
let pressed = null;

function release(wait) {
  const press = pressed;
  if (press) setTimeout(() => {
    if (pressed === press) pressed = null;
    press.end();
  }, wait);
}

window.addEventListener("pointerdown", () => {
  if (pressed) pressed.end();
  pressed = {};
  pressed.over = new Promise((end) => (pressed.end = end));
}, true);
// A finger's click comes a while after it is lifted. The end of a press that opens
// a menu is not told: what comes after it is.
window.addEventListener("pointerup", (event) => release(event.pointerType === "mouse" ? 0 : 60), true);
window.addEventListener("pointermove", (event) => event.buttons || release(0), true);
for (const end of ["pointercancel", "keyup"]) window.addEventListener(end, () => release(0), true);
window.addEventListener("change", (event) => event.target.options && release(0), true);
window.addEventListener("blur", (event) => event.target === window && release(0), true);

// addressOf is where a form leads when it is sent by GET.
function addressOf(form, button) {
  const query = new URLSearchParams();
  for (const [name, value] of new FormData(form, button)) {
    if (typeof value === "string" && value !== "") query.append(name, value);
  }
  return new URL("/?" + query, location.href);
}

function send(form, button) {
  if (form.method === "post") return show(form.action, { body: new FormData(form, button), form });
  return show(addressOf(form, button), { form });
}

// settled waits until what is under way is shown, and says whether it was taken:
// other forms, and links, are about a state that does not hold it yet.
async function settled(form) {
  return !asking || (form && asking.form === form) || (await asking.done);
}

page.addEventListener("submit", async (event) => {
  let form = event.target;
  let button = event.submitter;
  if (!form.hasAttribute("data-live")) return;
  event.preventDefault();
  if (!(await settled(form))) return;
  form = document.getElementById(form.id) || form;
  button = (button && document.getElementById(button.id)) || button;
  if (!button || !button.hasAttribute("formaction")) {
    send(form, button);
    return;
  }
  // A file is that of the state, which holds what the form says.
  if (await send(form, null)) location.assign(button.getAttribute("formaction") + location.search);
});

page.addEventListener("input", (event) => {
  if (event.target.id && event.target.form) touched.add(event.target.id);
});

page.addEventListener("change", async (event) => {
  const input = event.target;
  if (putting) return;
  if (input.id === "pace") {
    if (!(await settled())) return;
    const address = new URL(location.href);
    address.searchParams.set("pace", input.value);
    show(address, { history: "replace" });
    return;
  }
  if (!input.form || !input.form.hasAttribute("data-live") || input.hasAttribute("data-wait")) return;
  if (input.type === "file" && !input.files.length) return;
  if (await settled(input.form)) send(document.getElementById(input.form.id) || input.form, null);
});

// A text that was kept through a change of the state is sent when it is left: the
// browser tells nothing of it.
page.addEventListener("focusout", (event) => {
  const input = event.target;
  if (putting || !touched.has(input.id) || input.type !== "text") return;
  if (input.form && input.form.hasAttribute("data-live") && !input.hasAttribute("data-wait")) send(input.form, null);
});

page.addEventListener("click", async (event) => {
  const link = event.target.closest("a");
  if (!link || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
  const to = new URL(link.href);
  if (to.origin !== location.origin || to.pathname !== "/" || to.hash) return;
  event.preventDefault();
  if (await settled()) show(((link.id && document.getElementById(link.id)) || link).href);
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
window.addEventListener("drop", async (event) => {
  const file = event.dataTransfer.files[0];
  if (!file) return;
  event.preventDefault();
  try {
    await file.slice(0, 1).arrayBuffer();
  } catch {
    fail(`${file.name} cannot be read. Is it a folder? Drop one file.`);
    return;
  }
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
