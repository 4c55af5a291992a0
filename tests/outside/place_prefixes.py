"""The administration of every series in the ITU's table, read here by PyPI openpyxl.

The table is the spreadsheet carried by PyPI callsign-regex 0.7.1 (RR Appendix 42). All 26
beginnings of each series are asked, and every other beginning of three characters must be
allocated to nobody.
"""

import itertools
import string

import openpyxl
from place_common import ask, judge, package_file

SHEET = "CallSignSeriesRanges-00000000-0000-0000-0000-000000000000.xlsx"


def table():
    """Administration by beginning, for each of the 26 or fewer beginnings of each series."""
    book = openpyxl.load_workbook(package_file("itu_appendix42", "resources", SHEET), read_only=True)
    expected = {}
    rows = list(book.active.iter_rows(min_row=2, max_col=2, values_only=True))
    for series, administration in rows:
        first, last = (part.strip() for part in series.split("-"))
        for code in range(ord(first[2]), ord(last[2]) + 1):
            expected[first[:2] + chr(code)] = administration.strip()
    return len(rows), expected


def main():
    series, expected = table()
    asked = ["".join(letters) for letters in itertools.product(
        string.ascii_uppercase + string.digits, string.ascii_uppercase + string.digits, string.ascii_uppercase)]
    # one of these letters alone tells the nationality, so a digit behind it changes nothing
    whole = {letter: expected[letter + "AA"] for letter in "BFGIKMNRW"}
    agreed = 0
    for start, answer in zip(asked, ask([f"prefix {start}" for start in asked])):
        right = whole.get(start[0], expected.get(start, ""))
        if answer[0] == right:
            agreed += 1
        else:
            print(f"  {start}: we say {answer[0]!r}, the table {right!r}")
    print(f"{series} series, {len(expected)} beginnings in them, {len(asked)} asked")
    judge("prefix allocations", agreed, len(asked), 1.0)


if __name__ == "__main__":
    main()
