"""Distance and bearing against PyPI geographiclib (C. F. F. Karney's own library).

20,000 random pairs and 2,000 nearly opposite ones. They agree when the distance differs by
less than a micrometre and the bearing by so little that it moves the far end less than a
millimetre. Bearings are compared where they mean something: not to the very antipode.
"""

import math
import random

from geographiclib.geodesic import Geodesic
from place_common import ask, judge


def pairs():
    rng = random.Random(1)
    point = lambda: (rng.uniform(-90, 90), rng.uniform(-180, 180))
    for _ in range(20_000):
        yield point() + point()
    for _ in range(2_000):
        lat, lon = point()
        opposite = (lon + 360) % 360 - 180
        yield lat, lon, max(-90, min(90, -lat + rng.uniform(-1, 1))), max(-180, min(180, opposite + rng.uniform(-1, 1)))


def turned(one, other):
    """The angle between two bearings, -180 to 180 degrees."""
    return (one - other + 180) % 360 - 180


def main():
    legs = list(pairs())
    agreed, worst = 0, 0.0
    for leg, answer in zip(legs, ask(["leg %r %r %r %r" % leg for leg in legs])):
        metres, bearing, back = map(float, answer)
        right = Geodesic.WGS84.Inverse(*leg)
        off = abs(metres - right["s12"])
        turns = abs(turned(bearing, right["azi1"])), abs(turned(back, right["azi2"] + 180))
        # how far a turn moves the far end; m12 is the reduced length of the geodesic
        reduced = abs(Geodesic.WGS84.Inverse(*leg, Geodesic.REDUCEDLENGTH)["m12"])
        moved = math.radians(max(turns)) * reduced
        worst = max(worst, off)
        if off < 1e-6 and moved < 1e-3:
            agreed += 1
        else:
            print(f"  {leg}: we say {metres} m {bearing}, the library {right['s12']} m {right['azi1']}")
    print(f"largest difference in distance: {worst * 1e9:.0f} nm")
    judge("geodesics", agreed, len(legs), 1.0)


if __name__ == "__main__":
    main()
