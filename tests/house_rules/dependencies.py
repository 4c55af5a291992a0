"""Dependencies without a reason beside them.

The reason is a comment on the dependency's own line or on the line above it, in the
package's Cargo.toml or, for one that several packages share, in the workspace's.
"""

import re
import tomllib

TABLE = re.compile(r"^\[(.*)\]\s*(#.*)?$")
ENTRY = re.compile(r"""^["']?([A-Za-z0-9_-]+)["']?(\.workspace)?\s*=\s*(.*)$""")
DEPENDENCIES = re.compile(r"(^|\.)(dev-|build-)?dependencies(\.(?P<name>[A-Za-z0-9_-]+))?$")


def reasons(text):
    """Of a manifest: each dependency from elsewhere with its line and whether a reason is there.

    Packages of this repository need none: they are given by a path.
    """
    before, in_table = "", False
    for number, line in enumerate(text.splitlines(), 1):
        stripped = line.strip()
        if table := TABLE.match(stripped):
            named = DEPENDENCIES.search(table.group(1))
            in_table = named is not None and named.group("name") is None
            if named is not None and named.group("name") is not None:
                yield named.group("name"), number, False, has_comment(stripped, before)
        elif in_table and (entry := ENTRY.match(stripped)):
            name, inherited, value = entry.groups()
            if "path" not in tomllib.loads(f"it = {value}")["it"] if value.startswith("{") else True:
                inherits = bool(inherited) or "workspace = true" in value
                yield name, number, inherits, has_comment(stripped, before)
        before = stripped


def has_comment(line, before):
    return before.startswith("#") or re.search(r"\s#\s*\S", line) is not None


def without_reason(repository, files):
    """Where a dependency stands without a reason, in words."""
    manifests = [path for path in files if path.name == "Cargo.toml"]
    texts = {path: path.read_text(encoding="utf-8") for path in manifests}
    root = repository / "Cargo.toml"
    shared = {name: reason for name, _, _, reason in reasons(texts.get(root, ""))}
    own = {table for table in tomllib.loads(texts.get(root, "")).get("workspace", {}).get("dependencies", {})}
    own -= set(shared)
    for path, text in texts.items():
        for name, line, inherits, reason in reasons(text):
            if inherits and (name in own or shared.get(name)):
                continue
            if not reason and not (inherits and path != root and name in shared):
                yield f"{path.relative_to(repository)}:{line}: {name} has no reason beside it"
