// Keys and buttons of the pages. Every decision uses the forms of the page, which work
// without this script too, with the mouse.
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

/** Where the focus rests: an entry's letters go into its call sign. */
const rest = () => (form ? at("call") : at("main"));

// Where the focus was before a dialog.
let before = null;
const ask = (dialog) => {
  before = document.activeElement;
  dialog.showModal();
};
for (const dialog of document.querySelectorAll("dialog")) {
  dialog.addEventListener("close", () => {
    (before?.matches("input, main") ? before : rest())?.focus({ preventScroll: true });
  });
}

/** Calls the entry no contact: not by one letter, which may be one of a call sign. */
const reject = () => (at("not") ? ask(at("reject")) : press("again"));
at("reject-yes")?.addEventListener("click", () => {
  at("reject").close();
  press("not");
});

const keys = {
  u: () => press("undo"),
  g: () => press("above"),
  n: () => press("after"),
  p: () => press("before"),
  l: () => press("later"),
  x: reject,
  j: () => press("join"),
  "?": () => ask(at("keys")),
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

// Keys after a decision no longer belong to this page.
let leaving = false;
document.addEventListener("submit", ({ target }) => {
  leaving ||= target.method === "post";
});
addEventListener("beforeunload", () => {
  leaving = true;
});
addEventListener("pageshow", () => {
  leaving = false;
});

/** The letter of a key, also where Alt makes another sign of it. */
const letter = ({ key, code }) => (/^[a-z]$/i.test(key) ? key : (/^Key([A-Z])$/.exec(code)?.[1] ?? "")).toLowerCase();

document.addEventListener("keydown", (event) => {
  // A key that is held down decides once.
  if (event.key === "Enter" && event.repeat) return event.preventDefault();
  if (at("reject")?.open && event.key === "Delete") return press("reject-yes");
  if (leaving || event.ctrlKey || event.metaKey || document.querySelector("dialog[open]")) return;
  // With Alt the letters are keys in the fields too.
  if (event.altKey) {
    const act = keys[letter(event)];
    if (!act) return;
    event.preventDefault();
    if (!event.repeat) act();
    return;
  }
  const on = event.target;
  if (on.matches("input:not([type=radio]), textarea, select")) {
    if (event.key === "Escape") {
      event.preventDefault();
      on.blur();
      at("main").focus({ preventScroll: true });
    } else if (form && form.step(event)) {
      event.preventDefault();
    } else if (on.id === "call" && (event.key === " " || event.key === "?")) {
      // Neither occurs in a call sign.
      event.preventDefault();
      keys[event.key]?.();
    }
    return;
  }
  // A focused button or link keeps its own keys.
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
if (form) form.begin();
else at("main")?.focus({ preventScroll: true });
if (sound) {
  const call = document.querySelector(".evidence[data-field=call]");
  sound.begin(call);
}
