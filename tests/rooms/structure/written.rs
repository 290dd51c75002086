//! One place through which every output goes: nothing but `output` and `store` writes, moves or removes a file.

use super::sources;

/// What may do so, and why.
const MAY: [(&str, &str); 3] = [
    ("output/", "is that place"),
    ("store/", "keeps the book, through SQLite, and has new ones put in their place by `output`"),
    ("query/runner.rs", "writes the report of a mistake in the program, under a name that is new each time"),
];

const WAYS: [&str; 10] = [
    "fs::write(",
    "fs::rename(",
    "fs::copy(",
    "fs::remove_file(",
    "fs::remove_dir",
    "fs::hard_link(",
    "File::create",
    "OpenOptions",
    ".persist(",
    ".persist_noclobber(",
];

fn writes(text: &str) -> Vec<&'static str> {
    let code = text.split("#[cfg(test)]").next().unwrap_or(text);
    WAYS.into_iter().filter(|way| code.contains(way)).collect()
}

#[test]
fn files_are_written_through_one_place() {
    let offences: Vec<(String, Vec<&str>)> = sources()
        .into_iter()
        .filter(|(file, _)| !MAY.iter().any(|(place, _)| file.starts_with(place)) && !file.ends_with("tests.rs"))
        .map(|(file, text)| (file, writes(&text)))
        .filter(|(_, ways)| !ways.is_empty())
        .collect();
    assert_eq!(offences, []);
    assert_eq!(writes("let f = std::fs::File::create(x)?;"), ["File::create"]);
}
