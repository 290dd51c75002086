//! The house: that no room imports what the table in DEVELOPERS.md does not grant it, and that neither
//! rooms nor files import each other in circles.

mod imports;
mod made_up;
mod rings;
mod table;
mod tokens;
mod tree;
mod written;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::LazyLock;

use imports::{Imports, imports};
use rings::{Graph, bad_rings, rings};
use table::Table;
use tree::{Sources, Tree};

/// A file and a room that it may not import.
type Offence = (String, String);

/// The rooms, by the names under the crate's root; what tests alone compile is none.
fn rooms_of(tree: &Tree) -> BTreeSet<String> {
    tree.modules.iter().filter_map(|m| m.path.first().cloned()).collect()
}

/// The room of each file.
fn room_of_each_file(tree: &Tree) -> BTreeMap<String, String> {
    tree.modules.iter().filter_map(|m| Some((m.file.clone(), m.path.first()?.clone()))).collect()
}

/// Every import that the table does not grant.
fn offences(tree: &Tree, imports: &Imports, table: &Table) -> Vec<Offence> {
    let rooms = room_of_each_file(tree);
    let mut offences = Vec::new();
    for (file, imported) in &imports.rooms {
        // The crate's root only declares the rooms and names a few of their things anew.
        let Some(room) = rooms.get(file) else { continue };
        offences.extend(imported.iter().filter(|to| !table.allows(room, to)).map(|to| (file.clone(), to.clone())));
    }
    offences
}

/// Who imports whom, room by room.
fn between_rooms(tree: &Tree, imports: &Imports) -> Graph {
    let rooms = room_of_each_file(tree);
    let mut graph = Graph::new();
    for (file, imported) in &imports.rooms {
        if let Some(room) = rooms.get(file) {
            graph.entry(room.clone()).or_default().extend(imported.iter().cloned());
        }
    }
    graph
}

/// The files under `src`.
fn sources() -> Sources {
    fn gather(folder: &Path, within: &str, into: &mut Sources) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = format!("{within}{}", path.file_name().unwrap().to_string_lossy());
            if path.is_dir() {
                gather(&path, &format!("{name}/"), into);
            } else if name.ends_with(".rs") {
                into.insert(name, std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    let mut sources = Sources::new();
    gather(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), "", &mut sources);
    sources
}

/// This crate, and the table of its rooms.
static HOUSE: LazyLock<(Tree, Imports, Table)> = LazyLock::new(|| {
    let tree = Tree::grow(&sources(), "lib.rs").unwrap();
    let imports = imports(&tree);
    let developers = Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md");
    let table = Table::read(&std::fs::read_to_string(developers).unwrap()).unwrap();
    (tree, imports, table)
});

fn list<T: std::fmt::Debug>(items: &[T]) -> String {
    items.iter().map(|i| format!("\n  {i:?}")).collect()
}

/// Circles in words: of each, who imports whom within it.
fn told(rings: &[BTreeSet<String>], graph: &Graph) -> String {
    let mut text = String::new();
    for ring in rings {
        text += &format!("\n  of {}:", ring.len());
        for from in ring {
            let within: Vec<&str> = graph[from].intersection(ring).map(String::as_str).collect();
            text += &format!("\n    {from} imports {}", within.join(", "));
        }
    }
    text
}

#[test]
fn the_table_names_every_room_and_no_other() {
    let (tree, _, table) = &*HOUSE;
    assert_eq!(table.rooms(), rooms_of(tree));
}

#[test]
fn no_room_imports_what_the_table_does_not_grant() {
    let (tree, imports, table) = &*HOUSE;
    let offences = offences(tree, imports, table);
    assert!(offences.is_empty(), "{} imports that the table in DEVELOPERS.md does not grant:{}", offences.len(), list(&offences));
}

#[test]
fn rooms_form_no_circle() {
    let (tree, imports, _) = &*HOUSE;
    let graph = between_rooms(tree, imports);
    let rings = rings(&graph);
    assert!(rings.is_empty(), "rooms that import each other in a circle:{}", told(&rings, &graph));
}

#[test]
fn files_form_no_circle_but_of_a_parent_and_its_parts() {
    let (_, imports, _) = &*HOUSE;
    let rings = bad_rings(&imports.files);
    assert!(rings.is_empty(), "files that import each other in a circle:{}", told(&rings, &imports.files));
}
