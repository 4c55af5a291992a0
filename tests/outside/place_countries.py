"""The country of every place outside the United States in the same gazetteer.

Country codes are turned into the numbers of ISO 3166-1 by PyPI pycountry. Agreement is the
same country, or a doubt that names it.
"""

from collections import Counter

import pycountry
from place_common import ask, gazetteer, judge

FLOOR = 0.99
# Natural Earth draws these within the country that governs them
PART_OF = {
    "BQ": "NL", "CC": "CX", "GF": "FR", "GP": "FR", "MQ": "FR", "RE": "FR", "YT": "FR", "SJ": "NO",
}


def main():
    places = [row for row in gazetteer() if row["cc"] != "US"]
    answers = ask([f"area {row['lat']} {row['lon']}" for row in places])
    agreed = doubted_only = 0
    missed = Counter()
    for row, answer in zip(places, answers):
        country = pycountry.countries.get(alpha_2=PART_OF.get(row["cc"], row["cc"]))
        # the code XK is no part of ISO 3166-1
        expected = country.numeric if country else {"XK": "Kosovo"}.get(row["cc"], row["cc"])
        code = answer[0]
        if len(code) == 5:  # a county of an island area: PR 72, GU 66, AS 60, MP 69, VI 78
            code = {"72": "630", "66": "316", "60": "016", "69": "580", "78": "850"}.get(code[:2], "840")
        if code == expected:
            agreed += 1
        elif any(doubt.split(":")[0] == expected for doubt in answer[2:]):
            doubted_only += 1
        else:
            missed[(row["cc"], answer[1] or "nothing")] += 1
    for (cc, told), count in missed.most_common(25):
        print(f"  {count} places of {cc}: we say {told}")
    print(f"{agreed} the same; {doubted_only} more named in a doubt; {sum(missed.values())} neither")
    judge("countries of the gazetteer's places", agreed + doubted_only, len(places), FLOOR)


if __name__ == "__main__":
    main()
