//! The checker on small made-up crates: that it sees what it must, and can fail.

use std::collections::BTreeSet;

use super::imports::{Imports, ROOT, imports};
use super::rings::{bad_rings, rings};
use super::table::Table;
use super::tree::{Sources, Tree};
use super::{between_rooms, offences};

fn crate_of(files: &[(&str, &str)]) -> (Tree, Imports) {
    let sources: Sources = files.iter().map(|(file, text)| ((*file).to_owned(), (*text).to_owned())).collect();
    let tree = Tree::grow(&sources, "lib.rs").unwrap();
    let imports = imports(&tree);
    (tree, imports)
}

fn set(names: &[&str]) -> BTreeSet<String> {
    names.iter().map(|n| (*n).to_owned()).collect()
}

/// What `a/x.rs` imports when this is its text, beside a room `b` with parts of its own.
fn of_x(text: &str) -> (BTreeSet<String>, BTreeSet<String>) {
    let (_, imports) = crate_of(&[
        ("lib.rs", "pub mod a; pub mod b; mod c; pub use c::{Kept, Other as Renamed};"),
        ("a/mod.rs", "mod x; mod y; pub use y::Y; pub(crate) const LIMIT: u32 = 3;"),
        ("a/x.rs", text),
        ("a/y.rs", "pub struct Y; pub(crate) fn y() {}"),
        ("b/mod.rs", "mod deep; mod read; pub use deep::Deep; pub use read::read; pub use deep::inner::*; named! { Made }"),
        ("b/deep/mod.rs", "pub mod inner; pub enum Deep { One }"),
        ("b/deep/inner.rs", "pub fn innermost() {}"),
        ("b/read.rs", "pub fn read() {}"),
        ("c.rs", "pub struct Kept; pub struct Other;"),
    ]);
    (imports.files["a/x.rs"].clone(), imports.rooms["a/x.rs"].clone())
}

#[test]
fn paths_lead_to_the_file_that_defines_the_name() {
    let cases: [(&str, &[&str], &[&str]); 22] = [
        ("use crate::b::Deep;", &["b/deep/mod.rs"], &["b"]),
        ("use crate::b::read;", &["b/read.rs"], &["b"]),
        ("use crate::b; fn f() { b::read() }", &["b/read.rs"], &["b"]),
        ("use crate::b; fn f() { b::Deep::One; }", &["b/deep/mod.rs"], &["b"]),
        ("use crate::b as other; fn f() { let _ = other::deep::inner::innermost; }", &["b/deep/inner.rs"], &["b"]),
        (
            "use crate::{a::Y as Why, b::{self, deep::{inner::innermost, Deep}}};",
            &["a/y.rs", "b/deep/inner.rs", "b/deep/mod.rs"],
            &["b"],
        ),
        ("use crate::b::*; fn f() { innermost() }", &["b/deep/inner.rs"], &["b"]),
        ("use crate::b::innermost;", &["b/deep/inner.rs"], &["b"]),
        ("use super::Y;", &["a/y.rs"], &[]),
        ("use super::y::y;", &["a/y.rs"], &[]),
        ("fn f() -> u32 { super::LIMIT }", &["a/mod.rs"], &[]),
        ("fn f() { for _ in 0..super::LIMIT {} }", &["a/mod.rs"], &[]),
        ("use super::*; fn f(_: Y) {}", &["a/y.rs"], &[]),
        ("mod own { pub fn f() { super::super::y::y() } }", &["a/y.rs"], &[]),
        ("use crate::Kept;", &["c.rs"], &["c"]),
        ("use crate::Renamed;", &["c.rs"], &["c"]),
        ("fn f() { println!(\"{:?}\", crate::b::read()); }", &["b/read.rs"], &["b"]),
        ("macro_rules! m { () => { $crate::b::read() } }", &["b/read.rs"], &["b"]),
        (
            "impl From<Vec<crate::b::Deep>> for X { fn from(_: u8) -> Self { use super::y::y; y() } }",
            &["a/y.rs", "b/deep/mod.rs"],
            &["b"],
        ),
        ("fn f() { <u8 as crate::b::Made>::make() }", &["b/mod.rs"], &["b"]),
        ("fn f() { crate::gone() }", &["lib.rs"], &[ROOT]),
        ("use std::collections::BTreeMap; use geo::b; fn f(x: &X) { x.b.read(); b::read(); Y::new() }", &[], &[]),
    ];
    for (text, files, rooms) in cases {
        assert_eq!(of_x(text), (set(files), set(rooms)), "{text}");
    }
}

#[test]
fn what_tests_alone_compile_and_what_comments_say_is_no_import() {
    for text in [
        "#[cfg(test)] mod tests { use crate::b::read; }",
        "#[cfg(test)] use crate::b::read; fn f() {}",
        "#[cfg(all(test, unix))] fn f() { crate::b::read() }",
        "impl X { #[test] fn f() { crate::b::read() } }",
        "//! [`crate::b::read`]\n/// crate::b::read\n// crate::b::read\nfn f() -> &'static str { \"crate::b::read\" }",
        "#[doc = \"crate::b\"] pub(in crate::a) fn f() {}",
    ] {
        assert_eq!(of_x(text), (set(&[]), set(&[])), "{text}");
    }
    let after = "#[cfg(test)] #[allow(dead_code)] fn f() { } fn g() { crate::b::read() }";
    assert_eq!(of_x(after).1, set(&["b"]));
    assert_eq!(of_x("#[cfg(not(test))] fn f() { crate::b::read() }").1, set(&["b"]));
}

#[test]
fn a_missing_or_broken_file_is_told() {
    let grow = |files: &[(&str, &str)]| {
        let sources: Sources = files.iter().map(|(file, text)| ((*file).to_owned(), (*text).to_owned())).collect();
        Tree::grow(&sources, "lib.rs").unwrap_err()
    };
    assert_eq!(grow(&[("lib.rs", "mod a;")]), "a/mod.rs is missing");
    assert!(grow(&[("lib.rs", "mod a;"), ("a.rs", "fn f( {")]).starts_with("a.rs: "));
}

const DEVELOPERS: &str = "# House

| room | what lives there | may import |
|---|---|---|
| `earth` | ground | nothing of ours |
| `sun.rs` | light | earth |
| `book/` | nouns | `earth` |
| `reading` | patterns | all above |
| `cli` | commands | everything but app |
| `app` | window | everything |

| room | other |
";

#[test]
fn the_table_says_who_may_import_whom() {
    let table = Table::read(DEVELOPERS).unwrap();
    assert_eq!(table.rooms(), set(&["app", "book", "cli", "earth", "reading", "sun"]));
    for (room, imported, may) in [
        ("earth", "book", false),
        ("sun", "earth", true),
        ("sun", "book", false),
        ("book", "earth", true),
        ("book", "sun", false),
        ("reading", "sun", true),
        ("reading", "cli", false),
        ("cli", "reading", true),
        ("cli", "app", false),
        ("app", "cli", true),
        ("app", ROOT, false),
        ("attic", "earth", false),
    ] {
        assert_eq!(table.allows(room, imported), may, "{room} {imported}");
    }
    for (from, to, why) in [
        ("| earth |", "| erth |", "sun: \"erth\" is no room of the table"),
        ("but app", "but ap", "cli: \"everything but ap\" is no room of the table"),
        ("`sun.rs`", "`earth`", "earth has two rows"),
        ("| may import |", "| imports |", "there is no table with the head: room, what lives there, may import"),
    ] {
        assert_eq!(Table::read(&DEVELOPERS.replacen(from, to, 1)).unwrap_err(), why);
    }
}

#[test]
fn an_import_that_is_not_granted_is_told_with_its_file() {
    let files = [
        ("lib.rs", "mod book; mod earth; mod sun; pub use book::Book;"),
        ("earth.rs", "use crate::Book; pub struct LonLat;"),
        ("book.rs", "use crate::earth::LonLat; pub struct Book;"),
        ("sun.rs", "fn f(_: crate::earth::LonLat, _: crate::nothing::Known) {}"),
    ];
    let (tree, imports) = crate_of(&files);
    let told = offences(&tree, &imports, &Table::read(DEVELOPERS).unwrap());
    let pair = |file: &str, room: &str| (file.to_owned(), room.to_owned());
    assert_eq!(told, [pair("earth.rs", "book"), pair("sun.rs", ROOT)]);
    assert_eq!(rings(&between_rooms(&tree, &imports)), [set(&["book", "earth"])]);
}

#[test]
fn a_parent_and_its_parts_may_know_each_other() {
    let (_, imports) = crate_of(&[
        ("lib.rs", "mod a;"),
        ("a/mod.rs", "mod x; mod y; pub struct A; pub use x::X; pub use y::Y;"),
        ("a/x.rs", "use super::{A, Y}; pub struct X;"),
        ("a/y.rs", "use super::A; pub struct Y;"),
    ]);
    assert_eq!(rings(&imports.files).len(), 1, "{imports:?}");
    assert!(bad_rings(&imports.files).is_empty());
}

#[test]
fn siblings_that_know_each_other_are_a_ring_also_through_their_parent() {
    for (x, y) in [
        ("use super::y::Y; pub struct X;", "use super::x::X; pub struct Y;"),
        ("use super::{A, Y}; pub struct X;", "use super::X; pub struct Y;"),
        ("use super::*; pub struct X(Y);", "use crate::a; pub struct Y(a::X);"),
    ] {
        let (_, imports) = crate_of(&[
            ("lib.rs", "mod a;"),
            ("a/mod.rs", "mod x; mod y; pub struct A; pub use x::X; pub use y::Y;"),
            ("a/x.rs", x),
            ("a/y.rs", y),
        ]);
        assert_eq!(bad_rings(&imports.files), [set(&["a/x.rs", "a/y.rs"])], "{x} {y}");
    }
}

#[test]
fn a_ring_that_leaves_the_parent_s_folder_is_one() {
    let (_, imports) = crate_of(&[
        ("lib.rs", "mod a;"),
        ("a.rs", "mod x; mod y;"),
        ("a/x.rs", "mod part; use super::y::Y; pub struct X;"),
        ("a/x/part.rs", "use super::X; pub struct Part;"),
        ("a/y.rs", "use super::x::part::Part; pub struct Y;"),
    ]);
    assert_eq!(bad_rings(&imports.files), [set(&["a/x.rs", "a/x/part.rs", "a/y.rs"])]);
}
