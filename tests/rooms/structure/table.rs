//! The table of rooms in DEVELOPERS.md: who may import whom.

use std::collections::{BTreeMap, BTreeSet};

/// What each room may import.
#[derive(Debug)]
pub(crate) struct Table(BTreeMap<String, BTreeSet<String>>);

impl Table {
    /// Reads the first table whose head is `room`, `what lives there`, `may import`.
    ///
    /// In the last column stand rooms by name, `nothing of ours`, `all above` (the rooms of the rows
    /// before), `everything` or `everything but` a room, divided by commas.
    ///
    /// # Errors
    /// A sentence when there is no such table, or a row of it cannot be understood.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let mut lines = text.lines().map(cells).skip_while(|c| *c != ["room", "what lives there", "may import"]).skip(2);
        let mut rows = Vec::new();
        while let Some([names, _, may]) = lines.next().as_deref() {
            let names: Vec<String> = names.split(',').map(name).collect();
            rows.push((names, may.clone()));
        }
        if rows.is_empty() {
            return Err("there is no table with the head: room, what lives there, may import".to_owned());
        }
        let all: BTreeSet<String> = rows.iter().flat_map(|(names, _)| names.clone()).collect();
        let mut table = BTreeMap::new();
        for (names, may) in rows {
            let above: BTreeSet<String> = table.keys().cloned().collect();
            let may = allowed(&may, &all, &above).map_err(|e| format!("{}: {e}", names.join(", ")))?;
            for name in names {
                if table.insert(name.clone(), may.clone()).is_some() {
                    return Err(format!("{name} has two rows"));
                }
            }
        }
        Ok(Self(table))
    }

    /// The rooms.
    pub(crate) fn rooms(&self) -> BTreeSet<String> {
        self.0.keys().cloned().collect()
    }

    /// Whether a room may import another.
    pub(crate) fn allows(&self, room: &str, imported: &str) -> bool {
        self.0.get(room).is_some_and(|may| may.contains(imported))
    }
}

fn allowed(may: &str, all: &BTreeSet<String>, above: &BTreeSet<String>) -> Result<BTreeSet<String>, String> {
    let mut allowed = BTreeSet::new();
    for word in may.split(',').map(str::trim) {
        match word {
            "nothing of ours" => {}
            "all above" => allowed.extend(above.iter().cloned()),
            "everything" => allowed.extend(all.iter().cloned()),
            _ => {
                let but = word.strip_prefix("everything but ").map(name);
                let known = but.clone().unwrap_or_else(|| name(word));
                if !all.contains(&known) {
                    return Err(format!("\"{word}\" is no room of the table"));
                }
                match but {
                    Some(but) => allowed.extend(all.iter().filter(|r| **r != but).cloned()),
                    None => _ = allowed.insert(known),
                }
            }
        }
    }
    Ok(allowed)
}

/// The cells of a table's line; none of any other line.
fn cells(line: &str) -> Vec<String> {
    let Some(inner) = line.trim().strip_prefix('|').and_then(|l| l.strip_suffix('|')) else { return Vec::new() };
    inner.split('|').map(|c| c.trim().to_owned()).collect()
}

/// A room's name without the marks, the slash of a folder or the ending of a file.
fn name(cell: &str) -> String {
    cell.trim().trim_matches('`').trim_end_matches('/').trim_end_matches(".rs").to_owned()
}
