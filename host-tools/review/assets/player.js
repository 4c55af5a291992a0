// Plays what is selected: a word, a doubtful spot, an over, or a stretch drawn with the
// finger or the mouse on its picture. Times are seconds of the trip.

const SPEEDS = [1, 0.75, 0.5];
// A little before and after a word, so that it is not cut.
const MARGIN_S = 0.12;
const AUTO = "jumpseat-plays-at-once";

export function player(list) {
  const audio = new Audio();
  audio.preload = "auto";
  audio.preservesPitch = true;
  const strips = [...list.querySelectorAll(".strip")].map(place);
  const spots = [...document.querySelectorAll("#spots li")].map(span);
  let here = strips[0] ?? null;
  // What is selected in this strip: a stretch, and the button that it came from.
  let picked = null;
  let speed = 0;
  let form = "level";
  let again = false;
  let spot = -1;
  let frame = 0;

  function span({ dataset }) {
    return { from: Number(dataset.from), to: Number(dataset.to), word: dataset.word ?? null };
  }

  /** Puts the words and values of a strip at their places on its picture. */
  function place(element, index) {
    const inner = element.querySelector(".inner");
    const lane = element.querySelector(".lane");
    const scale = Number(inner.dataset.scale);
    const words = [...inner.querySelectorAll(".word")];
    inner.classList.add("placed");
    for (const button of inner.querySelectorAll(".word, .evidence")) {
      button.style.left = `${Number(button.dataset.at) * scale}px`;
      if (button.dataset.long) button.style.width = `${Math.max(18, Number(button.dataset.long) * scale)}px`;
      button.addEventListener("click", () => {
        const field = button.dataset.field;
        pick(strip, { ...span(button), button, field });
        play();
      });
    }
    const cursor = inner.appendChild(document.createElement("div"));
    cursor.className = "cursor";
    cursor.hidden = true;
    const mark = inner.appendChild(document.createElement("div"));
    mark.className = "picked";
    mark.hidden = true;
    const strip = { element, index, inner, lane, scale, words, cursor, mark, ...span(element) };
    element.querySelector(".play-strip").addEventListener("click", () => {
      if (!audio.paused && here === strip && !picked) return stop();
      pick(strip, null);
      play();
    });
    draw(strip);
    return strip;
  }

  /** Selects a stretch by drawing over the picture. */
  function draw(strip) {
    const picture = strip.inner.querySelector("img");
    let from = null;
    const time = (event) => {
      const x = event.clientX - picture.getBoundingClientRect().left;
      return strip.from + Math.min(Math.max(x / strip.scale, 0), strip.to - strip.from);
    };
    picture.draggable = false;
    picture.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || event.pointerType === "touch") return;
      from = time(event);
      picture.setPointerCapture(event.pointerId);
    });
    picture.addEventListener("pointermove", (event) => {
      if (from === null) return;
      const to = time(event);
      pick(strip, { from: Math.min(from, to), to: Math.max(from, to) });
    });
    picture.addEventListener("pointerup", (event) => {
      if (from === null) return;
      const to = time(event);
      const drawn = Math.abs(to - from) > 0.08;
      // A click plays from there to the end of the over.
      pick(strip, drawn ? { from: Math.min(from, to), to: Math.max(from, to) } : { from, to: strip.to, open: true });
      from = null;
      play();
    });
    picture.addEventListener("click", (event) => {
      if (event.pointerType !== "touch") return;
      pick(strip, { from: time(event), to: strip.to, open: true });
      play();
    });
  }

  function pick(strip, stretch) {
    for (const other of strips) {
      other.element.classList.toggle("here", other === strip);
      other.mark.hidden = other !== strip || !stretch;
    }
    for (const button of list.querySelectorAll(".word.here")) button.classList.remove("here");
    here = strip;
    picked = stretch;
    if (!stretch) return;
    strip.mark.style.left = `${(stretch.from - strip.from) * strip.scale}px`;
    strip.mark.style.width = `${Math.max(4, (stretch.to - stretch.from) * strip.scale)}px`;
    stretch.button?.classList.add("here");
    show(strip, stretch.from, stretch.to);
  }

  /** Scrolls a stretch into sight. */
  function show(strip, from, to) {
    const { lane, scale } = strip;
    const [left, right] = [(from - strip.from) * scale, (to - strip.from) * scale];
    if (left < lane.scrollLeft + 20 || right > lane.scrollLeft + lane.clientWidth - 40) {
      lane.scrollLeft = left - lane.clientWidth / 4;
    }
  }

  /** What is played: what is selected with a little around it, or the whole strip. */
  function stretch() {
    if (!picked) return { from: here.from, to: here.to };
    return { from: Math.max(here.from, picked.from - MARGIN_S), to: Math.min(here.to, picked.to + MARGIN_S) };
  }

  async function play(scroll = true) {
    if (!here) return;
    const strip = here;
    const { from } = stretch();
    const source = new URL(`${strip.element.dataset.sound}${form}.wav`, location.href).href;
    if (audio.src !== source) audio.src = source;
    audio.playbackRate = SPEEDS[speed];
    audio.defaultPlaybackRate = SPEEDS[speed];
    audio.currentTime = from - strip.from;
    if (scroll) strip.element.scrollIntoView({ block: "nearest" });
    try {
      await audio.play();
      document.body.dataset.heard = String(Number(document.body.dataset.heard ?? 0) + 1);
    } catch {
      // The browser requires a key or a click first, or the next sound was started meanwhile.
      return;
    }
    cancelAnimationFrame(frame);
    frame = requestAnimationFrame(follow);
    label();
  }

  function stop() {
    audio.pause();
    cancelAnimationFrame(frame);
    label();
  }

  function label() {
    const button = document.getElementById("play");
    button.firstChild.textContent = audio.paused ? "Play " : "Stop ";
  }

  /** Moves the cursor, and ends, repeats or goes on at the end of what is played. */
  function follow() {
    const strip = here;
    const { from, to } = stretch();
    const now = strip.from + audio.currentTime;
    for (const other of strips) other.cursor.hidden = other !== strip;
    strip.cursor.style.left = `${(now - strip.from) * strip.scale}px`;
    if (!picked) {
      show(strip, now, Math.min(now + 0.5, strip.to));
      const word = strip.words.findLast((button) => Number(button.dataset.from) <= now);
      for (const button of strip.words) button.classList.toggle("here", button === word);
    }
    if (now >= to - 0.02 || audio.ended) {
      if (again) {
        audio.currentTime = from - strip.from;
        if (audio.paused) audio.play().catch(() => {});
      } else if ((!picked || picked.open) && strips[strip.index + 1]) {
        pick(strips[strip.index + 1], null);
        play();
        return;
      } else {
        stop();
        return;
      }
    }
    frame = requestAnimationFrame(follow);
  }

  function choose(button, on) {
    document.getElementById(button).setAttribute("aria-pressed", String(on));
  }

  const replay = () => {
    if (!audio.paused) play();
  };

  return {
    toggle: () => (audio.paused ? play() : stop()),
    /** The word before or after the selected one, across overs. */
    word: (step) => {
      const all = strips.flatMap((strip) => strip.words.map((button) => ({ strip, button })));
      const current = all.findIndex(({ button }) => button === picked?.button);
      const first = all.findIndex(({ strip }) => strip === here);
      const next = all[current < 0 ? Math.max(first, 0) : current + step];
      if (!next) return;
      pick(next.strip, { ...span(next.button), button: next.button });
      play();
    },
    strip: (step) => {
      const next = strips[here ? here.index + (picked || audio.currentTime || !audio.paused ? step : 0) : 0] ?? here;
      if (!next) return;
      pick(next, null);
      play();
    },
    /** Plays the next spot; gives the field that it is about. */
    doubtful: () => {
      if (spots.length === 0) return null;
      spot = (spot + 1) % spots.length;
      const next = spots[spot];
      const strip = strips.find((strip) => strip.from <= next.from && next.from < strip.to) ?? here;
      pick(strip, next);
      play();
      return next.word;
    },
    repeat: () => {
      again = !again;
      choose("repeat", again);
    },
    slow: () => {
      speed = (speed + 1) % SPEEDS.length;
      audio.playbackRate = SPEEDS[speed];
      const button = document.getElementById("slow");
      button.querySelector("span").textContent = `Speed ${SPEEDS[speed]}`;
      choose("slow", speed > 0);
    },
    form: (wanted) => {
      form = form === wanted ? "level" : wanted;
      choose("clean", form === "clean");
      choose("raw", form === "raw");
      replay();
    },
    /** Takes the entry apart before the selected over. */
    part: () => here?.element.querySelector(".part button")?.click(),
    auto: () => {
      localStorage.setItem(AUTO, localStorage.getItem(AUTO) === "no" ? "yes" : "no");
    },
    /** Where the call sign was heard is played as soon as the entry opens. */
    begin: (button) => {
      const strip = strips.find((strip) => strip.element.contains(button)) ?? strips[0];
      if (!strip) return;
      pick(strip, button ? { ...span(button), field: button.dataset.field } : null);
      // Keeps the fields in view.
      if (localStorage.getItem(AUTO) !== "no") play(false);
    },
  };
}
