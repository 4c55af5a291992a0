#!/usr/bin/env python3
"""Holds the sources to the rules that keep the sources easy to change.

    house.py            checks everything: no circle of files inside a crate, no name that two
                        public types of one package share, files of a bounded length, a reason
                        beside each dependency; says how many type names are one word or shared
    house.py circles [WORD]   the circles with the names that close them, of the packages
                              whose name has the word
    house.py types            the type names that are one word, and those that are shared

Exit code 1 where something is wrong.
"""

import pathlib
import sys

from house_rules import circles, dependencies, packages, rust_source, sizes, type_names

REPOSITORY = pathlib.Path(__file__).resolve().parent.parent


def circles_in(package, crates):
    """Every circle of a package, in words: its files, and the few uses that close it."""
    name = lambda file: file.relative_to(REPOSITORY)
    for root in package.roots:
        uses = circles.uses_of(crates[root])
        for circle in circles.circles(uses):
            # Files of another package belong to that one.
            if not all(file.is_relative_to(package.folder) for file in circle):
                continue
            yield f"{package.name}: {len(circle)} files need each other: {', '.join(str(name(file)) for file in circle)}"
            for user, used in circles.closing_edges(circle, uses):
                names = ", ".join(f"{what} (line {line})" for what, line in uses[user][used].items())
                yield f"    {name(user)} uses of {name(used)}: {names}"


def print_types(types):
    """The names that are one word or shared, each with where it is defined."""
    for title, definitions in (("one word", type_names.one_word(types)), ("shared", type_names.shared(types))):
        for definition in sorted(definitions, key=lambda one: one.name):
            print(f"{title}: {definition.name}: {definition.file.relative_to(REPOSITORY)}:{definition.line}")


def main(arguments):
    """Checks, or lists."""
    found = packages.packages_of(REPOSITORY)
    crates = {root: rust_source.read_crate(root) for package in found for root in package.roots}
    types = type_names.types_of(found, crates)
    if arguments[:1] == ["types"]:
        print_types(types)
        return 0
    if arguments[:1] == ["circles"]:
        word = "".join(arguments[1:2])
        lines = [line for package in found if word in package.name for line in circles_in(package, crates)]
        print("\n".join(lines) if lines else "no circles")
        return 1 if lines else 0
    if arguments:
        print(__doc__, file=sys.stderr)
        return 2

    files = packages.tracked_files(REPOSITORY)
    wrong = [line for package in found for line in circles_in(package, crates)]
    for package, name, definitions in type_names.shared_in_one_package(types):
        places = ", ".join(f"{one.file.relative_to(REPOSITORY)}:{one.line}" for one in definitions)
        wrong.append(f"{package}: {len(definitions)} public types are called {name}: {places}")
    wrong += sizes.too_long(REPOSITORY, files)
    wrong += dependencies.without_reason(REPOSITORY, files)
    for line in wrong:
        print(f"house: {line}")
    one_word, shared = (100 * len(some) / len(types) for some in (type_names.one_word(types), type_names.shared(types)))
    print(f"figure: house: {len(types)} types, {one_word:.1f} % of the names one word, {shared:.1f} % shared by several")
    print(f"{1 if not wrong else 0} passed, {sum(not line.startswith(' ') for line in wrong)} failed")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
