"""Trains the network on the speech bank for a given time. See MODEL.md for the whole run."""
import argparse
import contextlib
import math
import multiprocessing
import pathlib
import time

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

import bank
import channel
import mel
import plan
import whisper_weights
from decoder import LAYERS, WHISPER_LAYERS, Listener, TextDecoder
from export import load, state_of
from network import HEADS, Network
from pieces import PROMPT, Pieces
from teacher import UPPER, WINDOW, Likeness, Teacher


# Rates of the parameters, as multiples of --rate: new outputs; what merges steps; the encoder's first layers and its others; where
# the decoder looks at what was heard; the rest of the decoder. What Whisper knows of people and of English is kept by small steps:
# at ten times the encoder's rate its own readers were written without a fault and held-out ones missed.
RATES = {"new": 10.0, "merge": 3.0, "low": 0.5, "encoder": 1.0, "looking": 1.0, "decoder": 0.25}
LESS_NOISE = 8.0  # decibels, in windows of real people: most of what they say is open speech
# Steps of ten by their kind: made speech in windows of 8, 4 and 12 s, real people in windows of 12 s.
STEPS = {3: ("made", "real", "short", "made", "wide", "real", "made", "short", "real", "wide"),
         4: ("made", "real", "short", "real", "wide", "made", "real", "short", "real", "wide"),
         10: ("real",) * 10}


def open_bank(cache):
    """Joins every part of the cache, writes the tables for the workers, returns the samples."""
    parts = [dict(np.load(f)) for f in sorted(pathlib.Path(cache).glob("*.npz"))]
    for part in parts:
        part["samples"] = bank.unpacked(part["samples"])
    whole = bank.join(parts)
    folder = pathlib.Path(cache) / "tables"
    folder.mkdir(exist_ok=True)
    for name in ("words", "utterances", "speakers", "texts"):
        np.save(folder / f"{name}.npy", whole[name])
    print(f"speech: {len(whole['samples']) / 8000 / 3600:.1f} h, {len(whole['words'])} words, {len(whole['utterances'])} utterances, {len(whole['speakers'])} speakers", flush=True)
    return whole["samples"], folder


def curve(rows, size, knots, random):
    """(rows, size) smooth random numbers of unit spread: straight lines between `knots` random heights."""
    high = torch.randn(rows, 1, knots, device=random.device, generator=random)
    return F.interpolate(high, size, mode="linear", align_corners=True)[:, 0]


def read_at(m, at):
    """The rows of m (B, N, other) at the broken places `at` (B, n), by straight lines between neighbours."""
    at = at.clamp(0, m.shape[1] - 1.001)
    low = at.floor().long()
    part, row = (at - low)[:, :, None], torch.arange(len(m), device=m.device)[:, None]
    return m[row, low] * (1 - part) + m[row, low + 1] * part


def masked(m, random, tempo):
    """Another speaker out of each window's mel: vocal tract (each formant a little for itself), tempo from word to word
    (`tempo`: whether places may move), voice colour; then two masks in frequency and two in time."""
    rows, bands, frames = m.shape
    u = lambda *shape: torch.rand(*shape, device=m.device, generator=random)
    band, frame = torch.arange(bands, device=m.device)[None], torch.arange(frames, device=m.device)[None]
    bent = torch.where(u(rows, 1) < 0.6, curve(rows, bands, 5, random) * 1.2, 0.0)
    m = read_at(m, band * (u(rows, 1) * 0.26 + 0.87) + bent)
    if tempo:
        edge = torch.minimum(frame, frames - 1 - frame) / 50
        moved = torch.where(u(rows, 1) < 0.5, curve(rows, frames, max(4, frames // 100), random) * edge.clamp(max=1) * 9, 0.0)
        m = read_at(m.transpose(1, 2), frame + moved).transpose(1, 2)
    m = m + torch.where(u(rows, 1) < 0.5, curve(rows, bands, 6, random) * 0.07, 0.0)[:, :, None]
    for _ in range(2):
        f0, fw, t0, tw = u(rows, 1) * bands, u(rows, 1) * 9, u(rows, 1) * frames, u(rows, 1) * 14
        m = torch.where(((band >= f0) & (band < f0 + fw))[:, :, None] | ((frame >= t0) & (frame < t0 + tw))[:, None], 0.0, m)
    return m


def guided(scores, plan_tensors, size):
    """Cross-entropy against the known places: a word's output in the middle of its span, blank elsewhere.

    CTC alone stays on its plateau of blanks for long; this shows it where the words are.
    """
    _, length, place, speed, _, labels, sizes = plan_tensors[:7]
    sizes = sizes.to(scores.device)
    rows, frames, _ = scores.shape
    step = size / frames
    count = labels.shape[1]
    first, span = place[:, :count].float(), (length / speed)[:, :count]
    t = (torch.arange(frames, device=scores.device)[None, :, None] + 0.5) * step
    inside = (t >= (first + span * 0.4)[:, None]) & (t < (first + span * 0.4 + (span * 0.4).clamp(min=step))[:, None])
    inside &= (torch.arange(count, device=scores.device)[None] < sizes[:, None])[:, None]
    target = (inside * labels[:, None]).amax(2)
    weight = torch.where(target > 0, 1.0, 0.25)
    loss = F.cross_entropy(scores.float().transpose(1, 2), target, reduction="none")
    return (loss * weight).sum() / weight.sum() * 3


def taken_over(scores, target):
    """Cross-entropy against the word probabilities of weights that heard the window clean; blanks count a quarter."""
    weight = 1 - 0.75 * target[..., 0]
    loss = -(target * scores.float().log_softmax(-1)).sum(-1)
    return (loss * weight).sum() / weight.sum() * 3


def parameter_groups(net, decoder, rate):
    """The parameters with their rates, as an optimiser takes them."""
    new, low, looking = net.new_parameters(), ("conv1", "conv2", "blocks.0."), ("heard.", "ask.", "told.", "norm2.")
    kind = lambda n: "merge" if n.startswith("merge.") else "new" if n.startswith(new) else "low" if n.startswith(low) else "encoder"
    named = [(kind(n), q) for n, q in net.named_parameters()]
    named += [("looking" if any(f".{part}" in n for part in looking) else "decoder", q) for n, q in decoder.named_parameters()]
    return [{"params": [q for k, q in named if k == group], "lr": rate * factor} for group, factor in RATES.items()]


class Heard:
    """What the network hears at each step: planned by worker processes, cut and sent through the channel on the GPU one
    step ahead, in a stream of its own, beside the network's work."""

    def __init__(self, samples, queues, air, front, random, teacher=None, knowing=None, writer=None):
        self.samples, self.queues, self.air, self.front, self.random = samples, queues, air, front, random
        self.teacher, self.knowing, self.writer = teacher, knowing, writer
        self.device, self.turn, self.tempo = samples.device, 0, False
        self.stream = torch.cuda.Stream() if self.device.type == "cuda" else None
        self.ahead = self.make()

    def make(self):
        size, real, arrays = self.queues[self.turn % len(self.queues)].get()
        self.turn += 1
        with torch.no_grad(), torch.cuda.stream(self.stream) if self.stream else contextlib.nullcontext():
            tensors = [torch.from_numpy(a) if a.ndim == 1 else torch.from_numpy(a).to(self.device, non_blocking=True) for a in arrays]
            x, target, taught = channel.assemble(self.samples, tensors[:5], size), None, None
            if real and self.teacher:
                with torch.autocast(self.device.type, dtype=torch.bfloat16):
                    heard = self.teacher.hears(x)
                    target = self.teacher.evened(heard)
                    taught = self.writer(tensors[9], heard).float().softmax(-1).bfloat16() if self.writer is not None else None
            if not real and self.knowing and not self.tempo:
                with torch.autocast(self.device.type, dtype=torch.bfloat16):
                    target = self.knowing(self.front(x))[0].float().softmax(-1)
            m = masked(self.front(self.air(x, LESS_NOISE if real else 0.0)), self.random, self.tempo and not real)
        return size, real, tensors, m, target, taught

    def step(self):
        """(samples in a window, whether of real people, plan, mel, what the teacher or the weights that know the words make of it,
        what the teacher writes); None where nobody teaches."""
        size, real, tensors, m, target, taught = self.ahead
        if self.stream:
            torch.cuda.current_stream().wait_stream(self.stream)
            for t in [t for t in [*tensors, m, target, taught] if t is not None and t.is_cuda]:
                t.record_stream(torch.cuda.current_stream())
        return size, real, tensors, m, target, taught

    def prepare(self):
        """Starts on the next step; call it when this step's work is under way."""
        self.ahead = self.make()


def ctc(scores, labels, sizes):
    """CTC loss for each label. `sizes` lies in the processor's memory, where the loss looks at it: else the card would be waited for."""
    steps = torch.full((len(scores),), scores.shape[1], dtype=torch.long)
    lost = F.ctc_loss(scores.float().log_softmax(-1).transpose(0, 1), labels, steps, sizes, blank=0, reduction="none", zero_infinity=True)
    return lost.sum() / (int(sizes.sum()) + 1)


def learn_spread(teacher, samples, folder):
    """Shows the teacher the first 48 utterances of readers, in windows of 12 s."""
    utterances, speakers, words = (np.load(folder / f"{name}.npy") for name in ("utterances", "speakers", "words"))
    spoken = [u for u in utterances if str(speakers[u[2]]).startswith("reader-")][:48]
    if not spoken:
        return
    windows = torch.zeros(len(spoken), 96000, device=samples.device)
    for row, (first, count, _) in zip(windows, spoken):
        a, b = int(words[first, 0]), int(words[first : first + count, 1].max())
        b = min(b, a + 96000)
        row[: b - a] = samples[a:b].float() / 32768
    teacher.measure(windows)


def warm_up(run, shapes, pieces, device):
    """Compiles for every shape before there is anything to hear. `pieces`: how many a teacher writes with; 0 without one."""
    began = time.time()
    for rows, size, real in sorted(set(shapes)):
        text = torch.zeros(rows, len(PROMPT) + plan.text_size(size), dtype=torch.long, device=device)
        taught = torch.zeros(*text.shape, pieces, dtype=torch.bfloat16, device=device) if real and pieces else None
        with torch.autocast(device, dtype=torch.bfloat16):
            words, letters, h, of_text = run(torch.zeros(rows, mel.BANDS, size // mel.HOP, device=device), text, text, taught)
        (words.float().sum() + letters.float().sum() + h.float().sum() + of_text).backward()
    print(f"compiled in {time.time() - began:.0f} s", flush=True)


def warm_up_teacher(encode, writer, shape, device):
    """The same for what hears and writes the windows of real people."""
    rows, size = shape
    with torch.no_grad(), torch.autocast(device, dtype=torch.bfloat16):
        heard = encode(torch.zeros(rows, mel.BANDS + UPPER, WINDOW // mel.HOP, device=device)) if encode else None
        if writer is not None:
            writer(torch.zeros(rows, len(PROMPT) + plan.text_size(size), dtype=torch.long, device=device), heard)


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("--seconds", type=float, default=1100)
    p.add_argument("--until", type=float, help="instead of --seconds: when to end, in seconds since 1970")
    p.add_argument("--cache", default="target/hear-cache")
    p.add_argument("--await", dest="awaited", help="a file that appears when the cache is whole and the weights to go on from are there; until then the network is compiled")
    p.add_argument("--whisper", help="the encoder, as whisper_weights.py writes it; not needed with --resume")
    p.add_argument("--decoder", help="the decoder, as whisper_weights.py writes it; not needed with --resume")
    p.add_argument("--text", type=float, default=1.5, help="weight of the text's loss beside the words'")
    p.add_argument("--coarse", type=float, default=0.5, help="share of the time, at the end, in which the matrices are made coarse")
    p.add_argument("--out", required=True)
    p.add_argument("--rows", type=int, default=112, help="windows of 8 s in a step")
    p.add_argument("--rate", type=float, default=5e-5, help="of the encoder's layers; see RATES")
    p.add_argument("--workers", type=int, default=7)
    p.add_argument("--device", default="cuda")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--warm", type=int, default=150, help="steps of rising rate")
    p.add_argument("--show", type=int, default=200)
    p.add_argument("--save", type=float, default=120, help="seconds between two savings of the weights")
    p.add_argument("--compile", action="store_true")
    p.add_argument("--aligned", type=float, default=0.3, help="share of the time in which known word places guide the outputs too")
    p.add_argument("--easy", type=float, default=0.04, help="share of the time in which the noise comes up from little")
    p.add_argument("--composed", type=float, default=0.45, help="share of phrases put together from single words")
    p.add_argument("--letters", type=float, default=1.5, help="weight of the letters' loss beside the words'")
    p.add_argument("--resume", help="folder with weights to go on from")
    p.add_argument("--real", type=int, default=3, choices=sorted(STEPS), help="steps of ten that are of real people")
    p.add_argument("--teacher", help="Whisper's encoder, which hears the real people's windows clean")
    p.add_argument("--writer", help="Whisper's whole decoder, which writes down what the teacher hears; as whisper_weights.py writes it")
    p.add_argument("--like", type=float, default=1.0, help="weight of the likeness to the teacher at the beginning; a third of it in the end")
    p.add_argument("--knowing", help="folder with weights that know the words: what they make of clean windows guides the words' output")
    p.add_argument("--taken", type=float, default=0.6, help="share of the time in which they do")
    p.add_argument("--take", type=float, default=1.0, help="weight of that")
    p.add_argument("--end", help="a file; training ends when it appears")
    p.add_argument("--dropout", type=float, default=0.04)
    args = p.parse_args()
    torch.manual_seed(args.seed)
    torch.set_float32_matmul_precision("high")
    device, r = args.device, args.rows
    net = Network(args.dropout)
    pieces = Pieces()
    decoder = TextDecoder(LAYERS, len(pieces.text))
    whole = Listener(net, decoder).to(device)
    optimiser = torch.optim.AdamW(parameter_groups(net, decoder, args.rate), weight_decay=0.01, betas=(0.9, 0.98), fused=device != "cpu")
    base = [g["lr"] for g in optimiser.param_groups]
    kinds = {"made": (r, 64000, False), "short": (r * 2, 32000, False), "wide": (r * 2 // 3, 96000, False), "real": (r * 2 // 3, 96000, True)}
    shapes = [kinds[k] for k in STEPS[args.real]]
    teacher = Teacher(whisper_weights.load_any(args.teacher), device, HEADS) if args.teacher else None
    writer = None
    if args.writer:
        writer = TextDecoder(range(WHISPER_LAYERS), len(pieces.text)).requires_grad_(False).to(device).eval()
        writer.start_from(whisper_weights.load_any(args.writer), pieces.source)
    run, encode = whole, teacher.encode if teacher else None
    if args.compile:
        run, writer = torch.compile(whole, dynamic=False), torch.compile(writer, dynamic=False) if writer is not None else None
        encode = torch.compile(encode, dynamic=False) if teacher else None
        warm_up(run, shapes, len(pieces.text) if args.writer else 0, device)
        warm_up_teacher(encode, writer, kinds["real"][:2], device)
    while args.awaited and not pathlib.Path(args.awaited).exists():
        time.sleep(0.5)
    if args.resume:
        whole.load_state_dict({k: torch.tensor(v) for k, v in state_of(args.resume).items()})
    else:
        net.start_from(whisper_weights.load_any(args.whisper))
        decoder.start_from(whisper_weights.load_any(args.decoder), pieces.source)
    knowing = load(args.knowing)[0].to(device).requires_grad_(False) if args.knowing else None
    samples, folder = open_bank(args.cache)
    samples = torch.from_numpy(samples).to(device)
    if teacher:
        learn_spread(teacher, samples, folder)
        like = Likeness(teacher).to(device)
        if args.resume and (known := pathlib.Path(args.resume) / "likeness.npz").exists():
            like.load_state_dict({k: torch.tensor(v) for k, v in np.load(known).items()})
        optimiser.add_param_group({"params": list(like.parameters()), "lr": args.rate * RATES["new"]})
        base.append(args.rate * RATES["new"])
        teacher.encode = encode
    context = multiprocessing.get_context("spawn")
    queues = [context.Queue(3) for _ in range(args.workers)]
    for k, queue in enumerate(queues):
        # Each worker begins elsewhere in the turn, so that neighbours differ in shape.
        context.Process(target=plan.worker, args=(str(folder), args.seed * 100 + k, shapes, args.composed, queue), daemon=True).start()
    random = torch.Generator(device)
    random.manual_seed(args.seed)
    air = channel.Channel(random)
    air.ease = 1.0 if args.easy > 0 else 0.0
    heard = Heard(samples, queues, air, mel.Mel(device), random, teacher, knowing, writer)
    mean = {k: v.detach().clone().float() for k, v in whole.state_dict().items()}
    out = pathlib.Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    began, step, hours, seen, coarse = time.time(), 0, 0.0, {}, False
    seconds, saved = (args.until - began if args.until else args.seconds), began
    while time.time() - began < seconds and not (args.end and pathlib.Path(args.end).exists()):
        done = (time.time() - began) / seconds
        scale = min(1, (step + 1) / args.warm) * 0.5 * (1 + math.cos(math.pi * min(1, done)))
        for group, rate in zip(optimiser.param_groups, base):
            group["lr"] = rate * scale
        size, real, tensors, m, target, taught = heard.step()
        with torch.autocast(device, dtype=torch.bfloat16):
            words, letters, h, of_text = run(m, *tensors[9:11], taught)
            unlike = torch.zeros((), device=device)
            if target is not None:
                unlike = like(h, target) if real else taken_over(words, target)
        of_words, of_letters = ctc(words, *tensors[5:7]), ctc(letters, *tensors[7:9])
        loss = of_words + args.letters * of_letters + args.text * of_text + (args.like if real else args.take) * (1 - done * 2 / 3) * unlike
        if done < args.aligned and not real:
            loss = loss + (1 - done / args.aligned) * guided(words, tensors, size)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_([q for g in optimiser.param_groups for q in g["params"]], 1.0)
        optimiser.step()
        air.ease = max(0.0, 1 - done / args.easy) if args.easy else 0.0
        if done > 1 - args.coarse and not coarse:
            coarse = True
            whole.set_coarseness(1.0)
        heard.tempo = done >= (args.taken if args.knowing else args.aligned)
        heard.prepare()
        step, hours = step + 1, hours + len(m) * size / 8000 / 3600
        if step % 5 == 0:
            with torch.no_grad():
                keep = min(0.998, step / (step + 50))
                state = whole.state_dict()
                torch._foreach_lerp_(list(mean.values()), [state[k].float() for k in mean], 1 - keep)
        if step % 7 == 0:
            seen.setdefault("real" if real else "made", []).append((of_words.detach(), of_letters.detach(), of_text.detach(), unlike.detach()))
        if step % args.show == 0:
            means = {kind: [float(torch.stack(part).mean()) for part in zip(*v)] for kind, v in sorted(seen.items())}
            told = "; ".join(f"{kind} words {a:.3f} letters {b:.3f} text {c:.3f} unlike {d:.3f}" for kind, (a, b, c, d) in means.items())
            print(f"step {step}: {told}; {time.time() - began:.0f} s, {hours:.0f} h heard", flush=True)
            seen = {}
            if time.time() - saved > args.save:
                save(out, mean)
                saved = time.time()
    save(out, mean)
    if teacher:
        np.savez(out / "likeness.npz", **{k: v.detach().cpu().numpy() for k, v in like.state_dict().items()})
    (out / "ended").write_text(f"{step} steps, {hours:.0f} h heard, {time.time() - began:.0f} s\n", encoding="utf-8")
    print(f"{step} steps, {hours:.0f} h heard, {time.time() - began:.0f} s", flush=True)


def save(out, state, parts=7):
    """Float16 weights in `parts` files of about equal size; each is whole at every moment."""
    whole, so_far, shares = sum(v.numel() for v in state.values()), 0, [{} for _ in range(parts)]
    for name, value in state.items():
        shares[min(parts - 1, parts * so_far // whole)][name] = value.half().cpu().numpy()
        so_far += value.numel()
    for k, share in enumerate(shares):
        np.savez(out / f"part-{k}.npz", **share)
        (out / f"part-{k}.npz").replace(out / f"base6-{k}.npz")


if __name__ == "__main__":
    main()
