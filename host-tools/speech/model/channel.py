"""From bank to receiver: cuts windows out of the bank and sends them through simulated radio channels, all on the GPU.

Two-path fading with Gaussian Doppler follows the model of ITU-R F.1487 (delays 0.5 to 6 ms, spreads 0.1 to 10 Hz there;
the milder part is drawn more often here); the rest is common practice.
"""
import math

import torch
import torch.nn.functional as F

from bank import RATE


def assemble(samples, plan, size):
    """(B, size) float windows out of the bank `samples` (int16 on the device)."""
    source, length, place, speed, gain = plan
    t = torch.arange(size, device=samples.device)[None].expand(len(place), -1).contiguous()
    which = (torch.searchsorted(place, t, right=True) - 1).clamp(min=0)
    take = lambda a: a.gather(1, which)
    at = (t - take(place)).float() * take(speed)
    left = take(length) - 2 - at
    inside = (at >= 0) & (left > 0)
    at = at.clamp(min=0)
    whole = at.floor()
    index = (take(source) + whole.long()).clamp(0, len(samples) - 2)
    part = at - whole
    x = samples[index].float() * (1 - part) + samples[index + 1].float() * part
    edge = (torch.minimum(at, left) / 24).clamp(0, 1)
    return x * inside * edge * take(gain) / 32768


def power_of_speech(y):
    """Mean power over the frames within 25 dB of the loud ones (B, 1)."""
    frames = F.avg_pool1d((y**2)[:, None], 160)[:, 0]
    loud = torch.quantile(frames, 0.95, dim=1, keepdim=True)
    active = (frames > loud * 10**-2.5).float()
    return (frames * active).sum(1, keepdim=True) / (active.sum(1, keepdim=True) + 1e-6) + 1e-9


class Channel:
    """Random channels, a new one for every window. `random` is the torch generator to draw from."""

    def __init__(self, random):
        self.random, self.device = random, random.device
        self.ease = 0.0  # 1: 30 dB less noise and no fading, for the beginning of training

    def uniform(self, rows, low, high):
        return torch.rand(rows, 1, device=self.device, generator=self.random) * (high - low) + low

    def chance(self, rows, p):
        return torch.rand(rows, 1, device=self.device, generator=self.random) < p

    def normal(self, *shape):
        return torch.randn(*shape, device=self.device, generator=self.random)

    def fading(self, rows, size):
        """Complex Gaussian gain (rows, size) by sixteen sinusoids; unit mean power."""
        spread = 10 ** self.uniform(rows, -1.2, 0.35)
        turn = torch.rand(rows, 16, 1, device=self.device, generator=self.random) * 2 * math.pi
        rate = self.normal(rows, 16, 1) * spread[:, :, None] / 2
        t = torch.linspace(0, size / RATE, 256, device=self.device)[None, None]
        coarse = torch.exp(1j * (2 * math.pi * rate * t + turn)).sum(1) / 4
        fine = F.interpolate(torch.stack([coarse.real, coarse.imag], 1), size, mode="linear")
        return torch.complex(fine[:, 0], fine[:, 1])

    def room(self, rows):
        """The answers of cabins and small rooms to a click (rows, 0.6 s): the direct sound, then
        noise that dies away by 60 dB in 0.15 to 0.6 s, 4 dB above to 12 dB below the direct sound in all."""
        size = RATE * 6 // 10
        t = torch.arange(size, device=self.device)[None] / RATE
        tail = self.normal(rows, size) * 10 ** (-3 * t / self.uniform(rows, 0.15, 0.6)) * (t > self.uniform(rows, 0.001, 0.008))
        tail = tail / ((tail**2).sum(1, keepdim=True).sqrt() + 1e-9) * 10 ** (-self.uniform(rows, -4, 12) / 20)
        tail[:, 0] = 1.0
        return tail

    def __call__(self, x, less=0.0):
        """`less`: so many decibels less noise than else."""
        rows, size = x.shape
        u, p = lambda a, b: self.uniform(rows, a, b), lambda c: self.chance(rows, c)
        hz, t = torch.fft.rfftfreq(size, 1 / RATE, device=self.device)[None], torch.arange(size, device=self.device)[None] / RATE
        shape = lambda y, gains: torch.fft.irfft(torch.fft.rfft(y) * gains, n=size)
        wide = p(0.18)  # FM or the operator's own microphone: no shift, no fading, a wider band
        low, high = torch.where(wide, u(60, 300), u(150, 450)), torch.where(wide, u(2800, 3700), u(2200, 3400))
        narrow = p(0.07)  # a filter for Morse or a crowded band, or its edge pulled in
        low, high = torch.where(narrow, u(200, 700), low), torch.where(narrow, u(1500, 2300), high)
        band = torch.sigmoid((hz - low) / 25) * torch.sigmoid((high - hz) / 40)
        octave = torch.log2(hz.clamp(100) / 1000)
        other = torch.roll(x, 1, 0)
        below = torch.where(p(0.4), u(3, 10), u(9, 28))
        x = torch.where(p(0.3), x + other.roll(size // 3, 1) * 10 ** (-below / 20), x)  # someone else, below
        echo = torch.fft.rfft(self.room(rows), n=size)
        x = torch.where(p(0.25), torch.fft.irfft(torch.fft.rfft(x) * echo, n=size), x)
        x = shape(x, 10 ** (u(-5, 9) / 20 * octave) * band)
        smooth = F.avg_pool1d(x.abs()[:, None], 401, 1, 200)[:, 0] + 1e-4
        x = torch.where(p(0.4), x / smooth ** u(0.1, 0.7), x)  # speech compressor of the transmitter
        x = torch.where(p(0.3), torch.tanh(x / (x.abs().amax(1, keepdim=True) + 1e-6) * u(1, 6)), x)  # clipping
        spectrum = F.pad(torch.fft.rfft(x) * band * 2, (0, size - size // 2 - 1))  # positive frequencies only: the analytic signal
        a = torch.fft.ifft(spectrum)
        f = torch.arange(size, device=self.device)[None] * RATE / size
        late = torch.fft.ifft(spectrum * torch.exp(-2j * math.pi * f * 10 ** u(-3.6, -2.4)))
        steady = u(0, 1)
        faded = (a * self.fading(rows, size) + late * self.fading(rows, size) * u(0, 1)) * (1 - steady) + a * steady
        a = torch.where(p(0.5 * (1 - self.ease)) & ~wide, faded, a)
        shift = torch.where(wide, 0, torch.where(p(0.1), u(-300, 300), torch.where(p(0.65), u(-150, 150), u(-3, 3))))
        y = (a * torch.exp(2j * math.pi * shift * t)).real
        speech = power_of_speech(y)
        noise = self.normal(rows, size)
        hits = (torch.rand(rows, size, device=self.device, generator=self.random) < u(0, 0.0012)) * self.normal(rows, size) * u(5, 40)
        noise = noise + torch.where(p(0.2), hits, 0 * hits)
        tone = torch.cos(2 * math.pi * u(300, 2600) * t) * u(0.2, 2)
        noise = noise + torch.where(p(0.1), tone, 0 * tone)
        slope = torch.where(wide, torch.where(p(0.5), u(3, 6), u(-9, -3)), torch.where(p(0.35), u(-5, 5), 0))  # FM discriminator or road noise
        rough = torch.where(p(0.25), (1 + 0.8 * torch.sin(2 * math.pi * 10 ** u(-0.7, 1.2) * t + u(0, 6.3))), torch.ones_like(t))
        noise = shape(noise * rough, band * 10 ** (slope / 20 * octave))
        burst = torch.zeros_like(noise).where(((t - u(0.5, size / RATE)) / u(0.05, 0.4)).abs() > 0.5, torch.ones_like(noise))
        noise = noise / (noise.std(1, keepdim=True) + 1e-9)
        noise = noise * torch.where(wide & p(0.3), 1 + burst * 10 ** (u(0, 20) / 20), 1)  # squelch tail
        snr = torch.where(p(0.1), u(22, 42), torch.where(p(0.6), u(-5, 13), u(-6, 24))) + 30 * self.ease + less
        silent = p(0.07)
        y = y + torch.where(silent, 0, noise * torch.sqrt(speech / 10 ** (snr / 10)))
        y = shape(y, band)
        gain = F.avg_pool1d(y.abs()[:, None], 1601, 1, 800)[:, 0] + y.abs().mean(1, keepdim=True) * 0.3 + 1e-5
        y = torch.where(p(0.3), y / gain ** u(0.2, 0.9), y)  # the receiver's automatic gain
        cut = (u(0, 0.4) * RATE).where(p(0.08), torch.zeros_like(speech))  # a recording that starts late
        return y * (t * RATE >= cut)
