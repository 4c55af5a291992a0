// Keys and buttons of the pages. All that is decided goes by the pages' own forms;
// without this script they still work, with the mouse.
import { player } from "./player.js";
import { fields } from "./fields.js";

const at = (id) => document.getElementById(id);
const entry = document.body.dataset.page === "entry";
const sound = entry && at("strips") ? player(at("strips")) : null;
const form = entry ? fields(at("decide")) : null;

/** Presses a button or follows a link, if the page has it. */
const press = (id) => {
  const found = at(id);
  if (found && !found.disabled) found.click();
};

const keys = {
  u: () => press("undo"),
  g: () => press("above"),
  n: () => press("after"),
  p: () => press("before"),
  l: () => press("later"),
  x: () => press(at("not") ? "not" : "again"),
  j: () => press("join"),
  "?": () => at("keys").showModal(),
};

if (sound) {
  Object.assign(keys, {
    " ": sound.toggle,
    ArrowLeft: () => sound.word(-1),
    ArrowRight: () => sound.word(1),
    ArrowUp: () => sound.strip(-1),
    ArrowDown: () => sound.strip(1),
    d: doubtful,
    r: sound.repeat,
    s: sound.slow,
    c: () => sound.form("clean"),
    v: () => sound.form("raw"),
    t: () => sound.part(),
    a: sound.auto,
  });
  for (const [id, act] of [
    ["play", sound.toggle],
    ["doubtful", doubtful],
    ["repeat", sound.repeat],
    ["slow", sound.slow],
    ["clean", () => sound.form("clean")],
    ["raw", () => sound.form("raw")],
  ]) {
    at(id).addEventListener("click", act);
  }
}
if (form) keys.e = () => form.enter("call");

/** Plays the next doubtful spot; the field that it is about becomes the current one. */
function doubtful() {
  const word = sound.doubtful();
  if (word && form) form.current(word);
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || at("keys").open) return;
  const on = event.target;
  if (on.matches("input:not([type=radio]), textarea, select")) {
    if (event.key === "Escape") {
      event.preventDefault();
      on.blur();
      at("main").focus({ preventScroll: true });
    } else if (form && form.step(event)) {
      event.preventDefault();
    }
    return;
  }
  // A button or link that has the focus keeps its own keys.
  const own = on.closest("button, a, summary, input");
  if (own && (event.key === "Enter" || event.key === " ")) return;
  if (on.matches("input[type=radio]") && event.key.startsWith("Arrow")) return;
  if (event.key === "Enter") {
    event.preventDefault();
    press(entry ? "confirm" : "next");
    return;
  }
  if (form && /^[1-9]$/.test(event.key) && form.choose(Number(event.key))) {
    event.preventDefault();
    return;
  }
  const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (act) {
    event.preventDefault();
    act();
  }
});

at("keys-open")?.addEventListener("click", keys["?"]);
at("main")?.focus({ preventScroll: true });
if (sound) {
  const call = document.querySelector(".evidence[data-field=call]");
  sound.begin(call);
}
