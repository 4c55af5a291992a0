"""Reads Rust sources as far as the house rules need: modules, imports, items, paths.

It knows tokens and the outline of a file, no types and no macros. What a macro makes is
not seen, and neither is a call of a method.
"""

import re
from dataclasses import dataclass, field
from pathlib import Path

TOKEN = re.compile(
    r"""
      (?P<space>\s+|//[^\n]*)
    | (?P<comment>/\*)
    | (?P<raw>[bc]?r(?P<hashes>\#*)".*?"(?P=hashes))
    | (?P<string>[bc]?"(?:\\.|[^"\\])*")
    | (?P<char>b?'(?:\\(?:u\{[^}]*\}|x[0-9a-fA-F]{2}|.)|[^\\'])')
    | (?P<lifetime>'[A-Za-z_]\w*)
    | (?P<name>(?:r\#)?[A-Za-z_]\w*)
    | (?P<number>\d\w*(?:\.\d\w*)?)
    | (?P<mark>::|->|=>|.)
    """,
    re.VERBOSE | re.DOTALL,
)
OPENING, CLOSING = "([{", ")]}"
TYPE_WORDS = ("struct", "enum", "union", "trait", "type")
ITEM_WORDS = (*TYPE_WORDS, "fn", "const", "static", "mod", "use", "impl", "extern", "macro_rules")


@dataclass(frozen=True)
class Token:
    """A word, mark or literal of a source file, with its line."""

    kind: str
    text: str
    line: int


@dataclass(frozen=True)
class Path_:
    """A path through modules as it is written, with its line."""

    names: tuple
    line: int


@dataclass
class Import:
    """One name that a `use` brings into a module."""

    path: Path_
    exported: bool


@dataclass(frozen=True)
class TypeDefinition:
    """A struct, enum, union, trait or type alias."""

    name: str
    file: Path
    line: int
    public: bool


@dataclass
class Module:
    """A module of a crate: what it defines, what it brings in and which paths it uses."""

    name: str
    file: Path
    parent: "Module | None" = None
    for_tests: bool = False
    children: dict = field(default_factory=dict)
    imports: dict = field(default_factory=dict)
    globs: list = field(default_factory=list)
    items: dict = field(default_factory=dict)
    paths: list = field(default_factory=list)
    bare_names: list = field(default_factory=list)
    types: list = field(default_factory=list)

    def root(self):
        return self if self.parent is None else self.parent.root()

    def all_modules(self):
        yield self
        for child in self.children.values():
            yield from child.all_modules()


def tokens_of(text):
    """The tokens of a source text, without blanks and comments."""
    tokens, at, line = [], 0, 1
    while at < len(text):
        match = TOKEN.match(text, at)
        kind, end = match.lastgroup, match.end()
        if match.group("raw") is not None:
            kind = "raw"
        if kind == "comment":
            end = end_of_comment(text, at)
        elif kind != "space":
            found = match.group(0)
            tokens.append(Token(kind, found.removeprefix("r#") if kind == "name" else found, line))
        line += text.count("\n", at, end)
        at = end
    return tokens


def end_of_comment(text, at):
    """Where the block comment that begins at `at` ends; they nest."""
    depth = 0
    for match in re.compile(r"/\*|\*/").finditer(text, at):
        depth += 1 if match.group(0) == "/*" else -1
        if depth == 0:
            return match.end()
    return len(text)


def read_crate(root_file):
    """The module tree of the crate whose root is this file."""
    root = Module(name="crate", file=root_file)
    Outline(root, root_file.parent).read_file()
    return root


class Outline:
    """Walks through one file and puts what it finds into its module."""

    def __init__(self, module, folder):
        self.module = module
        # Where the files of its child modules lie.
        self.folder = folder
        self.tokens = []

    def read_file(self):
        self.tokens = tokens_of(self.module.file.read_text(encoding="utf-8"))
        self.items(0, len(self.tokens), self.module, self.folder)

    def text(self, at):
        return self.tokens[at].text if at < len(self.tokens) else ""

    def closing(self, at):
        """The index of the bracket that closes the one at `at`."""
        depth = 0
        for index in range(at, len(self.tokens)):
            token = self.tokens[index]
            if token.kind == "mark" and token.text in OPENING:
                depth += 1
            elif token.kind == "mark" and token.text in CLOSING:
                depth -= 1
                if depth == 0:
                    return index
        return len(self.tokens) - 1

    def attributes(self, at):
        """The attributes from here on: where they end, whether they are for tests, a path."""
        for_tests, path = False, None
        while self.text(at) == "#":
            bracket = at + 2 if self.text(at + 1) == "!" else at + 1
            if self.text(bracket) != "[":
                break
            end = self.closing(bracket)
            words = [token.text for token in self.tokens[bracket + 1 : end]]
            if words[:2] == ["cfg", "("] and (words[2:3] == ["test"] or words[2:5] == ["all", "(", "test"]):
                for_tests = True
            if words[:2] == ["path", "="]:
                path = words[2].strip('"')
            at = end + 1
        return at, for_tests, path

    def end_of_item(self, at, word):
        """The index after the item that begins here."""
        while at < len(self.tokens):
            text = self.text(at)
            if self.tokens[at].kind == "mark":
                if text == ";":
                    return at + 1
                if text in OPENING:
                    close = self.closing(at)
                    if text == "{" and word not in ("const", "static", "type", "use", "let"):
                        return close + 1
                    at = close
                elif text in CLOSING or (text == "," and word not in ITEM_WORDS):
                    return at
            at += 1
        return at

    def items(self, at, end, module, folder):
        """The items of a module between two indices."""
        while at < end:
            at, for_tests, path = self.attributes(at)
            if at >= end:
                break
            begin, public = at, False
            if self.text(at) == "pub":
                public = self.text(at + 1) != "("
                at = at + 1 if public else self.closing(at + 1) + 1
            exported = at != begin
            word_at = self.keyword(at)
            word = self.text(word_at)
            after = self.end_of_item(word_at, word)
            self.item(word, word_at, after, module, folder, exported, public, for_tests or module.for_tests, path)
            at = max(after, begin + 1)

    def keyword(self, at):
        """Past `unsafe`, `async`, `const fn`, `extern "C" fn`."""
        while self.text(at) in ("unsafe", "async", "default", "const", "extern"):
            following = self.text(at + 1)
            if self.text(at) == "extern" and self.tokens[at + 1].kind == "string" and self.text(at + 2) != "{":
                at += 2
            elif self.text(at) in ("const", "extern") and following not in ("fn", "unsafe", "async", "extern"):
                return at
            else:
                at += 1
        return at

    def item(self, word, at, after, module, folder, exported, public, for_tests, path):
        name = self.text(at + 1)
        if word == "mod":
            self.child(name, at, after, module, folder, for_tests, path)
        elif word == "use":
            if not for_tests or module.for_tests:
                self.use_tree(at + 1, (), module, exported)
        else:
            if word == "macro_rules":
                name = self.text(at + 2)
            if word in TYPE_WORDS and self.tokens[at + 1].kind == "name":
                module.types.append(TypeDefinition(name, module.file, self.tokens[at].line, public and not for_tests))
            if for_tests and not module.for_tests:
                return
            if word in (*TYPE_WORDS, "fn", "const", "static", "macro_rules"):
                module.items[name] = word
            self.body(at, after, module)

    def child(self, name, at, after, module, folder, for_tests, path):
        if self.text(at + 2) == "{":
            child = self.new_child(name, module.file, module, for_tests)
            self.items(at + 3, after - 1, child, folder / (path or name))
            return
        if path:
            # Beside this file, or below the inline module's folder.
            base = module.file.parent if module.parent is None or module.parent.file != module.file else folder
            file, below = (base / path).resolve(), (base / path).resolve().parent
        else:
            file, below = folder / f"{name}.rs", folder / name
            if not file.exists():
                file = folder / name / "mod.rs"
        if not file.exists():
            return
        child = self.new_child(name, file, module, for_tests)
        Outline(child, below).read_file()

    def new_child(self, name, file, module, for_tests):
        """A child module; of two with one name (`cfg(unix)`, `cfg(windows)`) the first has the name."""
        child = Module(name, file, module, for_tests)
        key = name if name not in module.children else f"{name} {len(module.children)}"
        module.children[key] = child
        return child

    def use_tree(self, at, before, module, exported):
        """One `use` tree; returns the index after it."""
        names, line = list(before), self.tokens[at].line
        while True:
            text = self.text(at)
            if text == "::":
                at += 1
            elif text == "{":
                at += 1
                while self.text(at) != "}":
                    at = self.use_tree(at, tuple(names), module, exported)
                    if self.text(at) == ",":
                        at += 1
                return at + 1
            elif text == "*":
                module.globs.append(Import(Path_(tuple(names), line), exported))
                return at + 1
            else:
                if text == "self" and names:
                    alias = names[-1]
                else:
                    names.append(text)
                    alias = text
                at += 1
                if self.text(at) == "as":
                    alias = self.text(at + 1)
                    at += 2
                if self.text(at) != "::":
                    if alias == "_":
                        alias = f"_ {line} {len(module.imports)}"
                    module.imports[alias] = Import(Path_(tuple(names), line), exported)
                    return at

    def body(self, at, end, module):
        """The paths and bare names that an item uses, its own `use`s and types."""
        while at < end:
            token = self.tokens[at]
            if token.text == "#" and self.text(at + 1) == "[":
                at, for_tests, _ = self.attributes(at)
                if for_tests:
                    at = self.end_of_item(at, self.text(self.keyword(at)))
                continue
            if token.kind != "name":
                at += 1
                continue
            if token.text == "use" and self.tokens[at + 1].kind == "name":
                at = self.use_tree(at + 1, (), module, False)
                continue
            if token.text in ("struct", "enum", "union", "trait") and self.text(at - 1) in ("{", "}", ";", ")", "]"):
                if self.tokens[at + 1].kind == "name":
                    module.types.append(TypeDefinition(self.text(at + 1), module.file, token.line, False))
            before = self.text(at - 1) if at else ""
            names = [token.text]
            at += 1
            while self.text(at) == "::" and self.tokens[at + 1].kind == "name":
                names.append(self.text(at + 1))
                at += 2
            if before in (".", "::", "fn", "mod"):
                continue
            if len(names) > 1 or names[0] in ("crate",):
                module.paths.append(Path_(tuple(names), token.line))
            elif names[0][0].isupper() or self.text(at) == "(":
                if self.text(at) != ":":
                    module.bare_names.append(Path_(tuple(names), token.line))
