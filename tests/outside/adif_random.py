"""Writes random records by the library adif-io (PyPI): adif_random.py SEED COUNT ADI JSON.
The ADI file is what the library makes of them, the JSON file what they are."""

import json
import random
import string
import sys

import adif_io

seed, count, adi, told = sys.argv[1:]
random.seed(int(seed))

LETTERS = string.ascii_letters + string.digits + " .,;:'\"<>&/()=+-@#"
OTHERS = "äöüßéèñçøåłžşğαβγДЖя日本語한국あ€—…😀"


def text(longest):
    """Of any characters, without space around it, sometimes with what looks like a tag."""
    others = random.choice(["", OTHERS])
    made = "".join(random.choice(LETTERS + others) for _ in range(random.randint(1, longest)))
    if random.random() < 0.1:
        made += random.choice([" <eor> and on", " <CALL:3> and on", " <x> and on"])
    return made.strip() or "x"


def record(number):
    day = random.randint(0, 20000)
    year, rest = 1971 + day // 365, day % 365
    fields = {
        "QSO_DATE": f"{year:04}{rest // 31 + 1:02}{rest % 28 + 1:02}",
        "TIME_ON": f"{random.randint(0, 23):02}{random.randint(0, 59):02}"
        + random.choice(["", f"{random.randint(0, 59):02}"]),
        "CALL": f"K{number % 10}Q{string.ascii_uppercase[17 + number % 9]}"
        + string.ascii_uppercase[number // 10 % 26],
    }
    for name, chance, make in (
        ("FREQ", 0.8, lambda: f"{random.uniform(0.1, 2000):.6f}"),
        ("BAND", 0.8, lambda: random.choice(["20m", "40M", "2m", "70cm"])),
        ("MODE", 0.9, lambda: random.choice(["SSB", "CW", "FM", "FT8"])),
        ("RST_SENT", 0.7, lambda: random.choice(["59", "57", "599", "-12"])),
        ("NAME", 0.7, lambda: text(20)),
        ("COMMENT", 0.5, lambda: text(60)),
        ("NOTES", 0.3, lambda: text(200)),
        ("QTH", 0.4, lambda: text(20)),
        ("APP_OTHER_THING", 0.3, lambda: text(10)),
        ("QSL_SENT", 0.3, lambda: random.choice("YNRI")),
        ("MY_LAT", 0.3, lambda: adif_io.location_from_degrees(random.uniform(-89, 89), True)),
        ("MY_LON", 0.3, lambda: adif_io.location_from_degrees(random.uniform(-179, 179), False)),
    ):
        if random.random() < chance:
            fields[name] = make()
    return fields


records = [record(number) for number in range(int(count))]
with open(adi, "w", encoding="utf-8", newline="") as file:
    file.write("random records\n")
    headers = adif_io.headers_from_dict({"ADIF_VER": "3.1.6", "PROGRAMID": "adif_io"})
    file.write(adif_io.headers_to_adif(headers))
    for fields in records:
        file.write(adif_io.qso_to_adif(adif_io.qso_from_dict(fields)))
with open(told, "w", encoding="utf-8") as file:
    json.dump(records, file)
