//! Which file imports which: every path of a crate followed to the file that defines what it names.

use std::collections::{BTreeMap, BTreeSet};

use super::tree::{Meaning, Tree};

/// What a crate's files import of each other, by their paths under `src`.
#[derive(Debug, Default)]
pub(crate) struct Imports {
    /// The files that define what a file names; `use` re-exports are seen through.
    pub(crate) files: BTreeMap<String, BTreeSet<String>>,
    /// The rooms that a file names or whose things it names, without its own.
    pub(crate) rooms: BTreeMap<String, BTreeSet<String>>,
}

/// The room of code outside every room: the crate's root itself.
pub(crate) const ROOT: &str = "the crate's root";

/// Where a path leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    Module(usize),
    /// Something that this module's file defines.
    Thing(usize),
}

/// Follows every path of the tree.
pub(crate) fn imports(tree: &Tree) -> Imports {
    let mut imports = Imports::default();
    for (id, module) in tree.modules.iter().enumerate() {
        let files = imports.files.entry(module.file.clone()).or_default();
        let rooms = imports.rooms.entry(module.file.clone()).or_default();
        let own = room(tree, id);
        for path in module.uses.iter().chain(&module.spoken) {
            let mut walk = Walk { tree, seen: BTreeSet::new(), passed: BTreeSet::new() };
            let places = walk.from(id, path);
            for place in &places {
                let (Place::Module(at) | Place::Thing(at)) = *place;
                let whole_root = *place == Place::Module(0);
                if !whole_root {
                    rooms.insert(room(tree, at));
                }
                // A module by itself is but a way to what it holds, which is followed where it is named.
                if matches!(place, Place::Thing(_)) {
                    files.insert(tree.modules[at].file.clone());
                }
            }
            rooms.extend(walk.passed.iter().filter(|m| **m != 0).map(|m| room(tree, *m)));
        }
        rooms.remove(&own);
        files.remove(&module.file);
    }
    imports
}

/// The room of a module: its first name from the root.
fn room(tree: &Tree, module: usize) -> String {
    tree.modules[module].path.first().cloned().unwrap_or_else(|| ROOT.to_owned())
}

struct Walk<'a> {
    tree: &'a Tree,
    /// Names looked up already, so that a circle of `use` comes to an end.
    seen: BTreeSet<(usize, String)>,
    /// The modules that the path itself names.
    passed: BTreeSet<usize>,
}

impl Walk<'_> {
    /// Where a path written in this module leads; nowhere when it leaves the crate.
    fn from(&mut self, module: usize, path: &[String]) -> BTreeSet<Place> {
        let mut rest = path;
        let mut at = None;
        while let Some((first, after)) = rest.split_first() {
            at = match (first.as_str(), at) {
                ("crate", None) => Some(0),
                ("self", None) => Some(module),
                ("super", _) => self.tree.modules[at.unwrap_or(module)].parent,
                _ => break,
            };
            rest = after;
            if at.is_none() {
                return BTreeSet::new();
            }
        }
        match (at, rest.split_first()) {
            (Some(at), _) => self.along(at, rest),
            // A word alone is brought in by a `use`, which is followed for itself, unless by one with a star.
            (None, Some((only, []))) => self.through_globs(module, only),
            (None, Some((first, rest))) => {
                let first = self.look_up(module, first);
                self.onwards(first, rest)
            }
            (None, None) => BTreeSet::new(),
        }
    }

    /// The rest of a path from a module on.
    fn along(&mut self, module: usize, rest: &[String]) -> BTreeSet<Place> {
        self.passed.insert(module);
        let Some((name, rest)) = rest.split_first() else { return BTreeSet::from([Place::Module(module)]) };
        let mut found = self.look_up(module, name);
        if found.is_empty() {
            // Made by a macro: it belongs to the file in which the path looks for it.
            found.insert(Place::Thing(module));
        }
        self.onwards(found, rest)
    }

    fn onwards(&mut self, found: BTreeSet<Place>, rest: &[String]) -> BTreeSet<Place> {
        if rest.is_empty() {
            self.passed.extend(found.iter().filter_map(|p| if let Place::Module(m) = p { Some(*m) } else { None }));
            return found;
        }
        // Where a module and a thing share a name, the path goes on through the module.
        let modules: Vec<usize> = found.iter().filter_map(|p| if let Place::Module(m) = p { Some(*m) } else { None }).collect();
        if modules.is_empty() {
            return found;
        }
        modules.into_iter().flat_map(|m| self.along(m, rest)).collect()
    }

    /// What a name means in a module.
    fn look_up(&mut self, module: usize, name: &str) -> BTreeSet<Place> {
        let mut found = BTreeSet::new();
        let first_time = self.seen.insert((module, name.to_owned()));
        for meaning in self.tree.modules[module].names.get(name).into_iter().flatten() {
            match meaning {
                Meaning::Module(child) => _ = found.insert(Place::Module(*child)),
                Meaning::Defined => _ = found.insert(Place::Thing(module)),
                // `use read::read` looks for the module `read` on its way to the name `read`.
                Meaning::Brought(path) if first_time => found.extend(self.brought(module, path)),
                Meaning::Brought(_) => {}
            }
        }
        if first_time {
            self.seen.remove(&(module, name.to_owned()));
        }
        if found.is_empty() { self.through_globs(module, name) } else { found }
    }

    /// Follows a `use` without counting what it passes as named here.
    fn brought(&mut self, module: usize, path: &[String]) -> BTreeSet<Place> {
        let passed = std::mem::take(&mut self.passed);
        let found = match path {
            // `use name` of a neighbour declared beside it, or of another crate.
            [only] if !["crate", "self", "super"].contains(&only.as_str()) => self.look_up(module, only),
            _ => self.from(module, path),
        };
        self.passed = passed;
        found
    }

    fn through_globs(&mut self, module: usize, name: &str) -> BTreeSet<Place> {
        if self.tree.modules[module].names.contains_key(name) {
            return BTreeSet::new();
        }
        let mut found = BTreeSet::new();
        for path in self.tree.modules[module].globs.clone() {
            let key = (module, format!("{}::*{name}", path.join("::")));
            if !self.seen.insert(key.clone()) {
                continue;
            }
            for place in self.brought(module, &path) {
                if let Place::Module(open) = place {
                    found.extend(self.look_up(open, name));
                }
            }
            self.seen.remove(&key);
        }
        found
    }
}
