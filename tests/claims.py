#!/usr/bin/env python3
"""Holds what the pages claim to the figures that were measured.

    claims.py                     checks every claim of claims.toml against NUMBERS.md
    claims.py --split PAGE FOLDER puts the page's sections into FOLDER, where no newer ones are

The tests that host-tools/promises.md names as holding its promises must exist, too.

A claim fails when the page no longer says it, when no figure of that form stands in its
section, or when a figure is outside the claim's bound. Exit code 1 then.
"""

import pathlib
import re
import sys
import tomllib

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent
SECTION = re.compile(r"^## (\w+): [^\n]*\n\n([^\n]*)\n\n```text\n(.*?)^```$", re.M | re.S)


def sections(page):
    """Of a page of numbers: each section's name, when and where it was made, its figures."""
    if not page.exists():
        return {}
    return {name: (made, text) for name, made, text in SECTION.findall(page.read_text(encoding="utf-8"))}


def split(page, folder):
    """Writes each section's two files where there are none."""
    for name, (made, text) in sections(page).items():
        for ending, content in ((".made", made + "\n"), (".txt", text)):
            file = folder / (name + ending)
            if not file.exists():
                file.write_text(content, encoding="utf-8")


def wrong(claim, numbers):
    """What is wrong with a claim, or None."""
    page = " ".join((ROOT / claim["page"]).read_text(encoding="utf-8").split())
    if " ".join(claim["says"].split()) not in page:
        return "the page does not say so any more"
    if claim["section"] not in numbers:
        return f"NUMBERS.md has no section {claim['section']}; tests/numbers {claim['section']} makes it"
    found = re.findall(claim["figure"], numbers[claim["section"]][1])
    if not found:
        return f"no figure like '{claim['figure']}' in the section {claim['section']}"
    for text in found:
        value = float(text.replace(",", ""))
        if value > claim.get("at_most", value) or value < claim.get("at_least", value):
            bounds = {k: v for k, v in claim.items() if k in ("at_most", "at_least")}
            return f"measured {text}, claimed {bounds}"
    return None


def missing_tests(page):
    """Of the tests that a page's tables name, those that no source file has."""
    rows = [line for line in page.read_text(encoding="utf-8").splitlines() if line.startswith("| ")]
    named = {name for row in rows for name in re.findall(r"`([a-z0-9_]+)`", row.split(" | ")[-1])}
    sources = [f for room in ("firmware", "host-tools", "tests") for f in (ROOT / room).rglob("*.rs")]
    have = {name for f in sources for name in re.findall(r"\bfn ([a-z0-9_]+)\(", f.read_text(encoding="utf-8"))}
    return sorted(named - have), len(named)


def main(arguments):
    """Checks, or splits."""
    if arguments[:1] == ["--split"]:
        split(pathlib.Path(arguments[1]), pathlib.Path(arguments[2]))
        return 0
    with (HERE / "claims.toml").open("rb") as file:
        claims = tomllib.load(file)["claim"]
    numbers = sections(HERE / "NUMBERS.md")
    failed = 0
    for claim in claims:
        if trouble := wrong(claim, numbers):
            failed += 1
            print(f"claims: {claim['page']}: \"{claim['says']}\": {trouble}")
    missing, named = missing_tests(ROOT / "host-tools/promises.md")
    for name in missing:
        print(f"claims: host-tools/promises.md: there is no test {name}")
    failed += len(missing)
    print(f"{len(claims) + named - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
