"""Finds circles of files inside a crate: files that need each other, directly or not.

A file needs another one if it names something that is defined there. A name that a module
only passes on (`pub use`) leads to where it is defined, so a parent that declares its
children and passes their names on needs nobody. What is under `#[cfg(test)]` is left out.
"""

from collections import defaultdict


def uses_of(root):
    """Which file of a crate names what of which other: {file: {file: {name: line}}}."""
    uses = defaultdict(lambda: defaultdict(dict))
    for module in root.all_modules():
        if module.for_tests:
            continue
        wanted = [(use.path.names, use.path.line) for use in module.imports.values() if not use.exported]
        wanted += [(path.names, path.line) for path in module.paths]
        passed_on = {name for name, use in module.imports.items() if use.exported}
        for path in module.bare_names:
            name = path.names[0]
            own = name in module.items or name in module.imports and name not in passed_on
            if not own and (name in passed_on or module.globs):
                wanted.append((path.names, path.line))
        for names, line in wanted:
            home, name = definition(module, names)
            if home is not None and name is not None and home.file != module.file:
                uses[module.file][home.file].setdefault(name, line)
    return uses


def definition(module, names):
    """The module that defines what a path names, and the name there.

    The name is None where the path ends at a module, the module None where it leaves the
    crate.
    """
    at, name = lookup_first(module, names[0], frozenset())
    for following in names[1:]:
        if at is None or name is not None:
            break
        if following == "super":
            at = at.parent
        elif following != "self":
            found, name = lookup(at, following, frozenset())
            # Something that a macro made, perhaps.
            at, name = (at, following) if found is None else (found, name)
    return at, name


def lookup_first(module, name, seen):
    if name == "crate":
        return module.root(), None
    if name in ("self", "Self"):
        return (module, None) if name == "self" else (None, None)
    if name == "super":
        return module.parent, None
    return lookup(module, name, seen)


def lookup(module, name, seen):
    """Where a module finds a name: among its children, imports, items, then its globs."""
    if (module.file, module.name, name) in seen:
        return None, None
    seen = seen | {(module.file, module.name, name)}
    if name in module.children:
        return module.children[name], None
    if name in module.imports:
        return follow(module, module.imports[name].path.names, seen)
    if name in module.items:
        return module, name
    for glob in module.globs:
        behind, inner = follow(module, glob.path.names, seen)
        if behind is not None and inner is None:
            found, found_name = lookup(behind, name, seen)
            if found is not None:
                return found, found_name
    return None, None


def follow(module, names, seen):
    at, name = lookup_first(module, names[0], seen)
    for following in names[1:]:
        if at is None or name is not None:
            break
        if following == "super":
            at = at.parent
        elif following != "self":
            found, name = lookup(at, following, seen)
            at, name = (at, following) if found is None else (found, name)
    return at, name


def circles(uses):
    """Sets of files that all need each other."""
    number, lowest, on_stack, stack, found = {}, {}, set(), [], []

    def visit(file):
        number[file] = lowest[file] = len(number)
        stack.append(file)
        on_stack.add(file)
        for other in uses.get(file, ()):
            if other not in number:
                visit(other)
                lowest[file] = min(lowest[file], lowest[other])
            elif other in on_stack:
                lowest[file] = min(lowest[file], number[other])
        if lowest[file] == number[file]:
            circle = []
            while True:
                circle.append(stack.pop())
                on_stack.discard(circle[-1])
                if circle[-1] == file:
                    break
            if len(circle) > 1:
                found.append(sorted(circle))

    for file in sorted(uses):
        if file not in number:
            visit(file)
    return found


def closing_edges(circle, uses):
    """Few edges without which the files of a circle need each other no more.

    It looks for an order of the files in which few names are needed backwards, by moving
    one file at a time.
    """
    weight = {(a, b): len(uses[a][b]) for a in circle for b in uses.get(a, ()) if b in circle}

    def backwards(order):
        place = {file: index for index, file in enumerate(order)}
        return [edge for edge in weight if place[edge[0]] > place[edge[1]]]

    def cost(order):
        return sum(weight[edge] for edge in backwards(order))

    order, better = list(circle), True
    while better:
        better = False
        for file in circle:
            rest = [other for other in order if other != file]
            tried = [rest[:index] + [file] + rest[index:] for index in range(len(order))]
            best = min(tried, key=cost)
            if cost(best) < cost(order):
                order, better = best, True
    return sorted(backwards(order))
