#!/usr/bin/env python3
"""Compares what the pages claim with the figures that were measured.

    claims.py                      checks every claim of claims.toml against NUMBERS.md, and that
                                   every test that host-tools/promises.md names exists
    claims.py --split PAGE FOLDER  writes the sections of PAGE to files in FOLDER, unless there
                                   are such files

A claim fails if the page no longer says it, if its section has no such figure, or if a figure
is outside the claim's bounds. Exit code 1 then.
"""

import pathlib
import re
import sys
import tomllib

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent
SECTION = re.compile(r"^## (\w+): [^\n]*\n\n([^\n]*)\n\n```text\n(.*?)^```$", re.M | re.S)


def sections(page):
    """The sections of a page of numbers: {name: (when and where it was made, figures)}."""
    if not page.exists():
        return {}
    return {name: (made, text) for name, made, text in SECTION.findall(page.read_text(encoding="utf-8"))}


def split(page, folder):
    """Writes the two files of each section, unless they exist."""
    for name, (made, text) in sections(page).items():
        for ending, content in ((".made", made + "\n"), (".txt", text)):
            file = folder / (name + ending)
            if not file.exists():
                file.write_text(content, encoding="utf-8")


def wrong(claim, numbers):
    """What is wrong with a claim, in words, or None."""
    page = " ".join((ROOT / claim["page"]).read_text(encoding="utf-8").split())
    if " ".join(claim["says"].split()) not in page:
        return "the page no longer says so"
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
    """The tests that the tables of a page name and no source file defines, and how many are named."""
    rows = [line for line in page.read_text(encoding="utf-8").splitlines() if line.startswith("| ")]
    named = {name for row in rows for name in re.findall(r"`([a-z0-9_]+)`", row.split(" | ")[-1])}
    sources = [f for room in ("firmware", "host-tools", "tests") for f in (ROOT / room).rglob("*.rs")]
    have = {name for f in sources for name in re.findall(r"\bfn ([a-z0-9_]+)\(", f.read_text(encoding="utf-8"))}
    return sorted(named - have), len(named)


def main(arguments):
    """Checks the claims, or splits a page."""
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
