"""The packages of a repository: their manifests and the roots of their crates."""

import subprocess
import tomllib
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Package:
    """A folder with a Cargo.toml that names a package."""

    name: str
    folder: Path
    # The files that cargo gives to the compiler: lib.rs, main.rs, a test's main file …
    roots: tuple


def tracked_files(repository):
    """The files that git knows or would take up, without those that are removed."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=repository, check=True, capture_output=True, text=True,
    ).stdout.split("\0")
    paths = (repository / name for name in listed if name)
    return sorted(path for path in set(paths) if path.is_file() and not path.is_symlink())


def packages_of(repository):
    """Every package, of whatever workspace."""
    found = []
    for manifest in tracked_files(repository):
        if manifest.name != "Cargo.toml":
            continue
        content = tomllib.loads(manifest.read_text(encoding="utf-8"))
        if "package" in content:
            folder = manifest.parent
            found.append(Package(content["package"]["name"], folder, crate_roots(folder, content)))
    return found


def crate_roots(folder, manifest):
    """What the manifest names and what cargo finds without being asked."""
    roots = {folder / target["path"]
             for kind in ("bin", "test", "example", "bench") for target in manifest.get(kind, []) if "path" in target}
    if "path" in manifest.get("lib", {}):
        roots.add(folder / manifest["lib"]["path"])
    roots |= {folder / "src/lib.rs", folder / "src/main.rs", folder / "build.rs"}
    for place in ("src/bin", "tests", "examples", "benches"):
        roots |= set((folder / place).glob("*.rs")) | set((folder / place).glob("*/main.rs"))
    return tuple(sorted(root.resolve() for root in roots if root.is_file()))
