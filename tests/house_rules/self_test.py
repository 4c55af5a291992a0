"""The house rules on small sources whose answer is known; tests/run lint runs this."""

import pathlib
import tempfile
import unittest

from house_rules import circles, dependencies, rust_source, sizes, type_names
from house_rules.packages import Package


class Sources(unittest.TestCase):
    """A folder of source files that goes with the test."""

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def write(self, **files):
        for name, text in files.items():
            path = self.folder / (name.replace("__", "/") + ".rs")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return rust_source.read_crate(self.folder / "lib.rs")

    def circles(self, **files):
        found = circles.circles(circles.uses_of(self.write(**files)))
        return [[path.stem for path in circle] for circle in found]


class Circles(Sources):
    def test_two_files_that_use_each_other_are_a_circle(self):
        found = self.circles(
            lib="mod a; mod b;", a="use crate::b::B; pub struct A(B);", b="pub struct B; fn f() { super::a::g(); }")
        self.assertEqual(found, [["a", "b"]])

    def test_a_circle_of_three_is_found_and_its_cheapest_use_named(self):
        root = self.write(
            lib="mod a; mod b; mod c;", a="use crate::b::{B, D};", b="use crate::c::C; pub struct B; pub struct D;",
            c="pub struct C; fn f() -> u8 { crate::a::K }")
        uses = circles.uses_of(root)
        [circle] = circles.circles(uses)
        self.assertEqual(len(circle), 3)
        self.assertEqual(len(circles.closing_edges(circle, uses)), 1)

    def test_a_parent_that_only_passes_names_on_is_none(self):
        self.assertEqual(self.circles(
            lib="mod parent;", parent="mod child; mod other; pub use child::Child; pub use other::Other;",
            parent__child="use super::Other; pub struct Child(Other);", parent__other="pub struct Other;"), [])

    def test_a_parent_that_defines_what_its_child_needs_and_uses_the_child_is_one(self):
        self.assertEqual(self.circles(
            lib="mod parent;", parent="mod child; pub struct Limit; fn f() { child::run() }",
            parent__child="use super::*; pub fn run(limit: Limit) {}"), [["child", "parent"]])

    def test_what_only_tests_use_is_left_out(self):
        self.assertEqual(self.circles(
            lib="mod a; mod b;", a="use crate::b::B;",
            b="pub struct B; #[cfg(test)] mod tests { use crate::a::A; } #[cfg(test)] use crate::a::A;"), [])

    def test_words_in_comments_and_texts_are_no_uses(self):
        self.assertEqual(self.circles(
            lib="mod a; mod b;", a="use crate::b::B;",
            b='/// See [`crate::a::A`]. /* crate::a */\npub struct B; const X: &str = r#"crate::a::A"#;'), [])

    def test_names_are_followed_through_a_renamed_import_and_an_inner_module(self):
        self.assertEqual(self.circles(
            lib="mod a; mod b;", a="use crate::b as other; fn f(x: other::inner::X) {}",
            b="pub mod inner { pub struct X; fn g() { super::super::a::h() } }"), [["a", "b"]])


class Names(Sources):
    def test_words_shared_names_and_public_ones_are_counted(self):
        root = self.write(
            lib="pub mod a; pub mod b; struct WavHeader;", a="pub struct Trip; struct Own;",
            b="pub struct Trip; pub(crate) enum Own { X }")
        package = Package("it", self.folder, (self.folder / "lib.rs",))
        types = type_names.types_of([package], {self.folder / "lib.rs": root})
        self.assertEqual(len(types), 5)
        self.assertEqual({one.name for one in type_names.one_word(types)}, {"Trip", "Own"})
        self.assertEqual(len(type_names.shared(types)), 4)
        self.assertEqual([name for _, name, _ in type_names.shared_in_one_package(types)], ["Trip"])


class Lengths(Sources):
    def test_a_file_and_a_main_that_are_too_long_are_named(self):
        self.write(lib="\n" * 700, main="\n" * 40, ok="\n" * 701)
        found = list(sizes.too_long(self.folder, sorted(self.folder.glob("*.rs"))))
        self.assertEqual(found, ["main.rs: 40 lines, at most 39", "ok.rs: 701 lines, at most 700"])


class Dependencies(Sources):
    def test_a_reason_stands_beside_above_or_in_the_workspace(self):
        manifests = {
            "Cargo.toml": '[workspace.dependencies]\nours = { path = "ours" }\n# dates\nchrono = "0.4"\ncrc = "3"\n',
            "one/Cargo.toml": '[dependencies]\nchrono.workspace = true\nours.workspace = true\ncrc = "3" # sums\n'
                              'bare = "1"\n[features]\ndefault = []\n[dev-dependencies]\nhound = { version = "3" }\n'}
        for name, text in manifests.items():
            path = self.folder / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        found = [line.split(" has")[0] for line in
                 dependencies.without_reason(self.folder, [self.folder / name for name in manifests])]
        self.assertEqual(found, ["Cargo.toml:5: crc", "one/Cargo.toml:5: bare", "one/Cargo.toml:9: hound"])


if __name__ == "__main__":
    unittest.main()
