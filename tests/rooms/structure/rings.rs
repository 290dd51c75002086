//! Circles in who imports whom.

use std::collections::{BTreeMap, BTreeSet};

/// Who imports whom.
pub(crate) type Graph = BTreeMap<String, BTreeSet<String>>;

/// The groups of which each member reaches each other one, largest first; those of one are none.
pub(crate) fn rings(graph: &Graph) -> Vec<BTreeSet<String>> {
    let reach: BTreeMap<&String, BTreeSet<String>> = graph.keys().map(|from| (from, reached(graph, from))).collect();
    let mut rings = BTreeSet::new();
    for (from, reaches) in &reach {
        let ring: BTreeSet<String> =
            reaches.iter().filter(|to| reach.get(to).is_some_and(|back| back.contains(*from))).cloned().collect();
        if ring.len() > 1 {
            rings.insert(ring);
        }
    }
    let mut rings: Vec<_> = rings.into_iter().collect();
    rings.sort_by_key(|r| std::cmp::Reverse(r.len()));
    rings
}

/// Everything that is imported from here, over any number of steps.
fn reached(graph: &Graph, from: &String) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut open = vec![from];
    while let Some(at) = open.pop() {
        for to in graph.get(at).into_iter().flatten() {
            if found.insert(to.clone()) {
                open.push(to);
            }
        }
    }
    found
}

/// The circles of files that may not be: all but those of a parent and its own parts that come to an end
/// when the parent is taken away.
pub(crate) fn bad_rings(graph: &Graph) -> Vec<BTreeSet<String>> {
    let bad = |ring: &BTreeSet<String>| {
        let parent = ring.iter().find(|p| ring.iter().all(|part| part == *p || is_part(p, part)));
        match parent {
            Some(parent) => bad_rings(&without(graph, ring, parent)),
            None => vec![ring.clone()],
        }
    };
    rings(graph).iter().flat_map(bad).collect()
}

/// Whether a file lies in the folder of a module's own file.
fn is_part(parent: &str, file: &str) -> bool {
    let folder = match parent.strip_suffix("mod.rs") {
        Some(folder) => folder.to_owned(),
        None => format!("{}/", parent.trim_end_matches(".rs")),
    };
    file.starts_with(&folder)
}

fn without(graph: &Graph, ring: &BTreeSet<String>, parent: &String) -> Graph {
    let stays = |name: &String| name != parent && ring.contains(name);
    let kept = graph.iter().filter(|(from, _)| stays(from));
    kept.map(|(from, to)| (from.clone(), to.iter().filter(|t| stays(t)).cloned().collect())).collect()
}
