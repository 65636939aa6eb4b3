// The page works without this script, as forms and links. With it a change of state
// fetches the next one: what is said comes as parts of the page, what moves as numbers
// for pictures that are there already (stage/). The script also takes files that are
// dropped. It knows nothing of gear trains.
import { Stage, note } from "./stage/stage.js";
import * as keys from "./stage/keys.js";

const page = document.getElementById("page");
const told = document.getElementById("told");
const trouble = document.getElementById("trouble");
const stage = new Stage();

// --- The next state ---------------------------------------------------------

let latest = 0; // the request whose answer is shown; older ones are dropped
let asking = null; // the request that is under way, with the form that it sends and the button that sent it

// show fetches a state and puts it in place of the one that is shown, and says
// whether it did. What had the focus keeps it.
function show(address, { body = null, history = "push", form = null, button = null } = {}) {
  const mine = ++latest;
  const sent = take(form);
  if (history !== "none") stage.course?.stop();
  if (history !== "none" && !body) address = carry(address, KEPT);
  const done = fetchState(address, { mine, sent, body, history, form });
  asking = { form, button, done };
  page.setAttribute("aria-busy", "true");
  return done.finally(() => {
    if (mine !== latest) return;
    asking = null;
    page.removeAttribute("aria-busy");
  });
}

// KEPT is what the script alone changes of a state, which forms and links do not know.
const KEPT = ["view", "present"];

// carry takes what the address of the page says of some keys into another.
function carry(address, keys) {
  const to = new URL(address, location.href), here = new URL(location.href).searchParams;
  for (const key of keys) {
    if (here.has(key)) to.searchParams.set(key, here.get(key));
    else to.searchParams.delete(key);
  }
  to.searchParams.sort(); // the usual order
  return to;
}

async function fetchState(address, { mine, sent, body, history, form }) {
  performance.mark("asked");
  const headers = { Accept: "application/json" };
  if (figure) headers.Figure = figure.key;
  let response, text, next;
  try {
    response = await fetch(address, body ? { method: "POST", body, headers } : { headers });
    text = await response.text();
  } catch {
    if (mine === latest) fail("tieup does not answer: is it still running? What is shown is as it was before.", form, sent);
    return false;
  }
  try {
    next = JSON.parse(text);
  } catch {
    if (mine === latest) fail(text.trim(), form, sent);
    return false;
  }
  performance.mark("answered");
  while (pressed) await pressed.over;
  if (mine !== latest) return false;
  put(next, response.ok ? touched : new Set([...touched, ...sent]), response.ok);
  performance.mark("shown");
  performance.measure("change of state", "asked", "shown");
  performance.measure("asking", "asked", "answered");
  // What is refused leaves the address as it is.
  if (history !== "none" && response.ok) {
    const to = response.url;
    if (history === "replace" || to === location.href) window.history.replaceState(null, "", to);
    else window.history.pushState(null, "", to);
  }
  document.title = next.title;
  return response.ok;
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

let figure = null; // the train that is drawn
const parts = {}; // what is shown of each part of the page

// put puts a state in place: only the parts that changed are touched. Fields that
// were filled in since it was asked for, or that it refuses, keep what they hold.
function put(next, keep, ok) {
  const active = document.activeElement;
  const focus = { id: active.id, section: active.closest("section[aria-labelledby]")?.getAttribute("aria-labelledby") };
  const had = active !== document.body;
  const problem = document.getElementById("problem-head")?.textContent;
  const fields = [...keep].map((id) => document.getElementById(id)).filter(Boolean);
  const open = [...page.querySelectorAll("details[open]")].map((d) => d.id).filter((id) => id !== "adding" && id !== "reason");
  const scrolls = [...page.querySelectorAll(".scrolls, .work")].map((e) => e.scrollTop);
  putting = true;
  page.className = next.classes;
  page.dataset.view = next.view;
  if (presenting && next.data) page.classList.add("present");
  if (unmarked) page.classList.add("unmarked");
  // What holds the pictures stays, and the pictures with it.
  const staged = next.shell && next.shell === page.dataset.shell;
  page.dataset.shell = next.shell;
  for (const id of ["top", "tabs", "band", "stage", "ways", "console"]) {
    const place = document.getElementById(id);
    if ((id === "stage" && staged) || next.parts[id] === parts[id] || !place) continue;
    parts[id] = next.parts[id];
    if (id === "stage") place.innerHTML = parts[id];
    else patch(place, parts[id]);
    if (id === "stage") parts.ways = next.parts.ways; // that of its part is with it
    if (id === "top") parts.tabs = ""; // that of its part is not
  }
  fill(document.getElementById("drawer"), next.parts.drawer, keep);
  putting = false;
  for (const d of page.querySelectorAll("details")) if (open.includes(d.id)) d.open = true;
  [...page.querySelectorAll(".scrolls, .work")].forEach((e, i) => (e.scrollTop = scrolls[i] || 0));
  for (const field of fields) refill(field);
  document.documentElement.dataset.shade = next.shade;
  trouble.hidden = true;
  showData(next.data, !staged);
  prepare();
  const wrong = document.getElementById("problem-head");
  if (!ok && wrong && wrong.textContent !== problem) goTo(wrong);
  else if (had) refocus(focus);
  told.textContent = [...page.querySelectorAll("[data-tell]")].map((e) => e.textContent.trim()).slice(0, 3).join(" ");
}

// patch makes what a place holds like html. What is like it already stays, with its
// focus, and costs no layout; the drawer has a part of its own.
function patch(place, html) {
  const next = document.createElement("template");
  next.innerHTML = html;
  liken(place, next.content);
}

function liken(place, next) {
  const to = [...next.childNodes];
  if (place.childNodes.length !== to.length) {
    place.replaceChildren(...to);
    return;
  }
  [...place.childNodes].forEach((a, i) => {
    const b = to[i];
    if (a.nodeName !== b.nodeName || a.id !== b.id || a.matches?.("select, input:not([type=radio], [type=hidden])")) {
      a.replaceWith(b);
    } else if (a.nodeType === Node.TEXT_NODE) {
      if (a.data !== b.data) a.data = b.data;
    } else if (a.id !== "drawer") {
      for (const { name } of [...a.attributes]) if (!b.hasAttribute(name)) a.removeAttribute(name);
      for (const { name, value } of b.attributes) if (a.getAttribute(name) !== value) a.setAttribute(name, value);
      if (a.type === "radio") a.checked = b.checked;
      liken(a, b);
    }
  });
}

// fill fills the drawer of faults, which is most of the page: where it holds the same
// its fields alone are emptied, but for those to keep.
function fill(drawer, html, keep) {
  if (!drawer) return;
  if (html !== parts.drawer || !drawer.firstElementChild) {
    parts.drawer = html;
    drawer.innerHTML = html;
    return;
  }
  for (const field of drawer.querySelectorAll("select, input")) {
    if (keep.has(field.id)) continue;
    if (field.type === "checkbox") field.checked = field.defaultChecked;
    else field.value = field.defaultValue ?? "";
  }
}

// showData gives the stage what it shows; fresh says that its places are new.
function showData(data, fresh) {
  if (!data) {
    stage.leave();
    return;
  }
  const other = Boolean(data.figure);
  if (other) figure = data.figure;
  if (other || fresh || !stage.figure) stage.load(figure);
  stage.clock.pace = data.pace;
  stage.put(data.scene, data.step, data.moment);
  listBodies();
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
  const leadsTo = { note: "next" }[kind]; // what is pressed leads on
  const same = !leadsTo && id && document.getElementById(id);
  if (same && !same.hidden) {
    if (same !== document.activeElement) same.focus({ preventScroll: true });
    return;
  }
  const instead = leadsTo || { drop: "add-open", next: "verdict", adding: "add-open", add: "add-open" }[kind] || section;
  const other = (instead && document.getElementById(instead)) || page.querySelector("h1");
  if (other) goTo(other, true);
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
  if (form.closest("dialog")) return settings(form);
  const query = new URLSearchParams();
  for (const [name, value] of new FormData(form, button)) {
    if (typeof value === "string" && value !== "") query.append(name, value);
  }
  return new URL("/?" + query, location.href);
}

// settings is the address of the state that is shown with what the fields of a dialog
// say: what else the form holds is of the state with which the page was loaded.
function settings(form) {
  const to = new URL(location.href);
  for (const field of form.elements) {
    if (!field.name || field.type === "hidden") continue;
    if (field.value) to.searchParams.set(field.name, field.value);
    else to.searchParams.delete(field.name);
  }
  return to;
}

function send(form, button) {
  if (form.method === "post") return show(form.action, { body: new FormData(form, button), form, button });
  return show(addressOf(form, button), { form, button });
}

// settled waits until what is under way is shown, and says whether it was taken:
// other forms, and links, are about a state that does not hold it yet. The form
// that is under way holds its own fields, but not what a button of it said.
async function settled(form) {
  return !asking || (form && asking.form === form && !asking.button) || (await asking.done);
}

document.addEventListener("submit", async (event) => {
  let form = event.target;
  let button = event.submitter;
  if (!form.hasAttribute("data-live")) return;
  event.preventDefault();
  document.getElementById("adding")?.removeAttribute("open");
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

document.addEventListener("change", async (event) => {
  const input = event.target;
  if (putting) return;
  if (!input.form || !input.form.hasAttribute("data-live") || input.hasAttribute("data-wait")) return;
  if (input.type === "file" && !input.files.length) return;
  if (!(await settled(input.form))) return;
  const form = document.getElementById(input.form.id) || input.form;
  const now = input.type === "radio" && document.getElementById(input.id);
  if (now) now.checked = true; // the state that was waited for has the range before
  send(form, null);
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
  if (!(await settled())) return;
  const now = (link.id && document.getElementById(link.id)) || link;
  show(now.id === "work" ? carry(now.href, ["step", "moment"]) : now.href);
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
  const form = document.querySelector("form.upload");
  const body = new FormData();
  body.append("file", file, file.name);
  show(form.action, { body });
});

// --- Bodies ------------------------------------------------------------------

// listBodies makes the bodies one stop of the tab key, with arrows inside: each tells
// its name, teeth, speed and torque, and lights in every picture.
function listBodies() {
  const list = document.getElementById("bodies");
  if (!list || !stage.figure) return;
  const had = document.activeElement.dataset.body;
  list.replaceChildren(
    ...stage.figure.bodies.map((b, i) => {
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.body = i;
      button.textContent = stage.about(i);
      button.tabIndex = i ? -1 : 0;
      return button;
    }),
  );
  if (had !== undefined && document.activeElement === document.body) list.children[had]?.focus();
}

page.addEventListener("keydown", (event) => {
  const list = event.target.closest("#bodies");
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  if (!list || !step) return;
  event.preventDefault();
  const all = [...list.children];
  const to = all[(all.indexOf(event.target) + step + all.length) % all.length];
  for (const b of all) b.tabIndex = b === to ? 0 : -1;
  to.focus();
});
page.addEventListener("focusin", (event) => {
  const body = event.target.dataset.body;
  if (body !== undefined) stage.light(Number(body));
});
page.addEventListener("focusout", (event) => event.target.dataset.body !== undefined && stage.light(null));
const bodyAt = (event) => event.target.closest?.("#stage .body")?.dataset.body;
page.addEventListener("pointerover", (event) => {
  if (!stage.figure || event.pointerType === "touch") return;
  const body = bodyAt(event);
  if (Number(body) !== stage.lit) stage.light(body === undefined || Number(body) < 0 ? null : Number(body));
});
page.addEventListener("pointerdown", (event) => {
  if (!stage.figure || event.pointerType !== "touch" || !event.target.closest("#stage .pic")) return;
  const body = bodyAt(event);
  stage.light(body === undefined || Number(body) === stage.lit ? null : Number(body));
});

// A swipe over the pictures changes the view.
let swipe = null;
page.addEventListener("touchstart", (event) => (swipe = event.target.closest(".pic") ? event.touches[0].clientX : null), { passive: true });
page.addEventListener("touchend", (event) => {
  if (swipe !== null && Math.abs(event.changedTouches[0].clientX - swipe) > 70) stage.view();
  swipe = null;
});

// --- Buttons and keys --------------------------------------------------------

let presenting = page.classList.contains("present");
let unmarked = false;

const acts = {
  // present shows large type on the whole screen, or leaves it.
  present(on = !presenting) {
    if (!stage.figure || on === presenting) return;
    presenting = on;
    page.classList.toggle("present", on);
    note("present", on ? "1" : "");
    if (on) document.documentElement.requestFullscreen?.().catch(() => {});
    else if (document.fullscreenElement) document.exitFullscreen();
    stage.redraw();
  },
  marks() {
    unmarked = page.classList.toggle("unmarked");
  },
  help() {
    const help = document.getElementById("help");
    document.getElementById("letters").checked = keys.on();
    help.showModal();
    document.getElementById("help-head").focus();
  },
};
document.addEventListener("fullscreenchange", () => !document.fullscreenElement && presenting && acts.present(false));
keys.listen(stage, acts);
document.getElementById("letters").addEventListener("change", (event) => keys.switchKeys(event.target.checked));

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  switch (button?.id) {
    case "play":
      return stage.play();
    case "view":
      return stage.view();
    case "other-lever":
      return stage.otherLever();
    case "present":
      return acts.present();
    case "help-open":
      return acts.help();
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
  const note = event.target.closest("#ways [data-line]");
  if (note && stage.scene?.lines.length) stage.go(Number(note.dataset.line) >= 0 ? Number(note.dataset.line) + 1 : stage.scene.rest + 1);
  const adding = document.getElementById("adding");
  if (adding?.open && !event.target.closest("#adding")) adding.open = false;
});

// prepare readies what only works with this script.
function prepare() {
  for (const id of ["play", "view", "present", "help-open", "copy", "print"]) {
    const button = document.getElementById(id);
    if (button) button.hidden = (id === "present" || id === "view" || id === "play") && !stage.figure;
  }
  for (const wide of page.querySelectorAll("[data-here]")) {
    for (const head of wide.querySelectorAll("tbody th")) {
      if (head.textContent === wide.dataset.here) head.parentElement.classList.add("here");
    }
  }
  requestAnimationFrame(showChosen); // when the browser knows where things are
  stage.buttons();
}

// showChosen scrolls the row of the selector to the range that is chosen. It sets no
// place from which the tab key goes on, as scrollIntoView does.
function showChosen() {
  const row = page.querySelector(".sel");
  if (!row) return;
  row.onscroll = () => goesOn(row);
  const edge = 24; // where an arrow says that the row goes on
  const sight = row.getBoundingClientRect(), cell = row.querySelector("input:checked")?.getBoundingClientRect();
  if (cell) row.scrollLeft += Math.max(cell.right + edge - sight.right, 0) || Math.min(cell.left - edge - sight.left, 0);
  goesOn(row);
}

// goesOn shows at which edges the row of the selector goes on.
function goesOn(row) {
  const hidden = row.scrollWidth - row.clientWidth;
  row.classList.toggle("before", hidden > 8 && row.scrollLeft > 4);
  row.classList.toggle("after", hidden > 8 && row.scrollLeft < hidden - 4);
}
window.addEventListener("resize", () => page.querySelector(".sel")?.onscroll?.());

// What the page came with is of its first state alone.
const came = document.getElementById("first");
const first = JSON.parse(came.textContent);
came.remove();
showData(first, true);
prepare();
document.documentElement.dataset.ready = "1";
