// The fields of an entry: edits are stored at once, in the order in which they are typed,
// and the call sign is checked while it is typed.

const PAUSE_MS = 350;

export function fields(form) {
  const number = form.dataset.entry;
  const inputs = [...form.querySelectorAll("input[type=text]")];
  const choices = [...form.querySelectorAll(".choices button")];
  const trouble = document.getElementById("trouble");
  // What was stored of each field, and what still has to be stored.
  const kept = new Map(inputs.map((input) => [input.name, input.defaultValue]));
  let queue = Promise.resolve();
  let waiting = null;
  let now = "call";

  const seen = () => form.elements.seen.value;
  const see = (value) => {
    for (const input of document.querySelectorAll("input[name=seen]")) input.value = value;
  };

  const tell = (words) => {
    trouble.textContent = words;
    trouble.hidden = !words;
  };

  /** Sends one field; the next waits until the server has it. */
  const send = async (input, keepalive) => {
    const text = input.value.trim();
    if (kept.get(input.name) === text) return;
    const body = new URLSearchParams({ seen: seen(), word: input.name, text });
    try {
      const reply = await fetch(`/entry/${number}/say`, { method: "POST", body, keepalive });
      const told = await reply.json();
      see(told.seen);
      if (reply.ok) kept.set(input.name, text);
      tell(told.trouble ?? "");
    } catch {
      tell("What you typed could not be kept: the server does not answer. Leave this page open, start jumpseat review again with the same --port, open its link in another tab, and then change a letter here; or note what you typed.");
    }
  };

  const flush = (keepalive = false) => {
    clearTimeout(waiting);
    waiting = null;
    for (const input of inputs) {
      if (kept.get(input.name) !== input.value.trim()) queue = queue.then(() => send(input, keepalive));
    }
    return queue;
  };

  const typed = (input) => {
    input.closest(".field").classList.toggle("typed", input.value.trim() !== input.dataset.before);
    for (const button of choices.filter((button) => button.dataset.field === input.name)) {
      button.setAttribute("aria-pressed", String(button.dataset.text === input.value.trim()));
    }
    clearTimeout(waiting);
    waiting = setTimeout(flush, PAUSE_MS);
    if (input.name === "call") check(input.value);
  };

  let asked = 0;
  let pause = null;
  const check = (call) => {
    clearTimeout(pause);
    pause = setTimeout(async () => {
      const turn = ++asked;
      const query = new URLSearchParams({ entry: number, call });
      const reply = await fetch(`/check?${query}`).catch(() => null);
      const remarks = reply?.ok ? await reply.json() : [];
      if (turn !== asked) return;
      document.getElementById("remarks").replaceChildren(
        ...remarks.map(({ kind, text }) => {
          const item = document.createElement("li");
          item.className = kind;
          item.textContent = text;
          return item;
        }),
      );
    }, 120);
  };

  const current = (name) => {
    now = name;
    for (const field of form.querySelectorAll(".field")) {
      field.classList.toggle("current", field.dataset.word === name);
    }
  };

  const set = (name, text) => {
    const input = form.elements[name];
    input.value = text;
    typed(input);
  };

  const offered = (name) => choices.filter((button) => button.dataset.field === name);

  /** Chooses another value of the current field; false when it has none of that number. */
  const choose = (count) => {
    const button = offered(now)[count - 1];
    if (button) set(now, button.dataset.text);
    return Boolean(button);
  };

  /** The arrows in a field go through its other values. */
  const step = (event) => {
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const list = offered(event.target.name);
    if (!by || list.length === 0) return false;
    const here = list.findIndex((button) => button.dataset.text === event.target.value.trim());
    const next = list[(here + by + list.length) % list.length];
    set(event.target.name, next.dataset.text);
    return true;
  };

  for (const input of inputs) {
    input.addEventListener("input", () => typed(input));
    input.addEventListener("focus", () => {
      current(input.name);
      input.select();
    });
    input.addEventListener("change", () => flush());
  }
  for (const button of choices) {
    button.addEventListener("click", () => {
      current(button.dataset.field);
      set(button.dataset.field, button.dataset.text);
    });
  }
  current("call");

  // A decision waits for pending edits, so that it is about what the server has stored.
  let sure = false;
  document.addEventListener("submit", (event) => {
    if (sure || !(event.target instanceof HTMLFormElement) || event.target.method !== "post") return;
    clearTimeout(waiting);
    event.preventDefault();
    const { target, submitter } = event;
    // A confirmation sends the whole form.
    const confirms = target === form && (!submitter || submitter.id === "confirm");
    const done = confirms ? queue : flush();
    // Only after this event: until then the browser accepts no other submission.
    done.then(() => setTimeout(() => {
      sure = true;
      target.requestSubmit(submitter);
      sure = false;
    }));
  });
  addEventListener("pagehide", () => flush(true));

  const enter = (name) => form.elements[name].focus({ preventScroll: true });

  return {
    choose,
    current,
    step,
    enter,
    /** What is typed first replaces the call sign, from the first letter on. */
    begin: () => {
      const call = form.elements.call;
      enter("call");
      // The browser had focused it already, and something was typed before this ran.
      if (call.value !== call.defaultValue) typed(call);
      else call.select();
    },
  };
}
