"""Names of types: how many are one word, and how many several types share."""

import re
from collections import Counter, defaultdict

WORD = re.compile(r"[A-Z]+(?![a-z])|[A-Z][a-z0-9]*")


def types_of(packages, crates):
    """Every type of every package, once: a list of (package name, TypeDefinition)."""
    found = {}
    for package in packages:
        for root in package.roots:
            for module in crates[root].all_modules():
                for definition in module.types:
                    if definition.file.is_relative_to(package.folder):
                        found[definition.file, definition.line, definition.name] = (package.name, definition)
    return [found[key] for key in sorted(found)]


def one_word(types):
    return [definition for _, definition in types if len(WORD.findall(definition.name)) < 2]


def shared(types):
    """Definitions whose name another definition has, too."""
    count = Counter(definition.name for _, definition in types)
    return [definition for _, definition in types if count[definition.name] > 1]


def shared_in_one_package(types):
    """Names that two public types of one package have: (package, name, definitions)."""
    public = defaultdict(list)
    for package, definition in types:
        if definition.public:
            public[package, definition.name].append(definition)
    return [(*key, definitions) for key, definitions in sorted(public.items()) if len(definitions) > 1]
