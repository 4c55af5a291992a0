"""How long files may be."""

MOST_LINES = 700
MOST_LINES_OF_MAIN = 39
# The contributor's page is read in one go.
PAGES = {"DEVELOPERS.md": 8 * 1024}
SOURCE_ENDINGS = {".rs", ".py", ".bash", ".sh", ".c", ".js", ".css"}


def is_source(path):
    """A source file by its ending, or a script by its first line."""
    if path.suffix in SOURCE_ENDINGS:
        return True
    if path.suffix:
        return False
    with path.open("rb") as file:
        return file.read(2) == b"#!"


def too_long(repository, files):
    """What is longer than it may be, in words."""
    for path in files:
        name = path.relative_to(repository)
        if is_source(path):
            lines = path.read_bytes().count(b"\n")
            # That of a test is a list of its modules.
            is_main = path.name == "main.rs" and path.parent.parent.name != "tests"
            most = MOST_LINES_OF_MAIN if is_main else MOST_LINES
            if lines > most:
                yield f"{name}: {lines} lines, at most {most}"
        if str(name) in PAGES and path.stat().st_size > PAGES[str(name)]:
            yield f"{name}: {path.stat().st_size} bytes, at most {PAGES[str(name)]}"
