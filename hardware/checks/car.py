"""What a car does to its 12 V: the pulses of ISO 7637-2 and ISO 16750-2.

All values are those for 12 V systems and come from memory, the severest level
of each; look them up in the standards before you rely on them elsewhere.
"""

import math
from dataclasses import dataclass

RESTING = 13.5


@dataclass(frozen=True)
class Pulse:
    """A test pulse: name, peak in V over the resting voltage, source resistance, times in s."""

    name: str
    peak: float
    ohms: float
    rise: float
    length: float

    def waveform(self, start):
        """Voltage to add to the resting voltage: a rise, then an exponential fall.

        The length runs from a tenth of the peak to a tenth of the peak.
        """
        tau = self.length / math.log(10)
        points = [(0, 0), (start, 0), (start + self.rise, self.peak)]
        points += [(start + self.rise + tau * x / 5, self.peak * math.exp(-x / 5))
                   for x in range(1, 36)]
        points.append((start + self.rise + tau * 7.5, 0))
        return "PWL(" + " ".join(f"{t:.9g} {v:.5g}" for t, v in points) + ")"


PULSES = [
    Pulse("ISO 7637-2 pulse 1", -150, 10, 1e-6, 2e-3),
    Pulse("ISO 7637-2 pulse 2a", 112, 2, 1e-6, 50e-6),
    Pulse("ISO 7637-2 pulse 2b", 10, 0.05, 1e-3, 0.5),
    Pulse("ISO 7637-2 pulse 3a", -220, 50, 5e-9, 150e-9),
    Pulse("ISO 7637-2 pulse 3b", 150, 50, 5e-9, 150e-9),
    Pulse("ISO 16750-2 load dump, test A", 101 - RESTING, 0.5, 10e-3, 0.4),
    Pulse("ISO 16750-2 load dump, test B", 35 - RESTING, 0.5, 10e-3, 0.4),
]


def cranking(lowest, plateau, plateau_length, start):
    """ISO 16750-2 starting profile: a short deep dip, a plateau, and back."""
    points = [(0, RESTING), (start, 12.5), (start + 5e-3, lowest), (start + 20e-3, lowest),
              (start + 70e-3, plateau), (start + 70e-3 + plateau_length, plateau),
              (start + 170e-3 + plateau_length, RESTING)]
    return "PWL(" + " ".join(f"{t:.6g} {v:.4g}" for t, v in points) + ")"


# Level: lowest voltage, plateau voltage, plateau length in seconds.
CRANKING = {"I": (8.0, 9.5, 1.0), "II": (4.5, 6.5, 10.0), "III": (3.0, 5.0, 1.0),
            "IV": (6.0, 6.5, 10.0)}
