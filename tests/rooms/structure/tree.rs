//! The modules of a crate, from the texts of its files: what each declares, brings in and speaks of.

use std::collections::BTreeMap;

use proc_macro2::Delimiter;

use super::tokens::{Token, close_of, tokens};

/// Files by their path under `src`, with their text.
pub(crate) type Sources = BTreeMap<String, String>;

/// A path as written, first segment first; `$crate` stands as `crate`.
pub(crate) type Path = Vec<String>;

/// What a name in a module stands for.
#[derive(Debug, Clone)]
pub(crate) enum Meaning {
    /// A module, by its index.
    Module(usize),
    /// Something that this module's file defines.
    Defined,
    /// What a `use` brings in.
    Brought(Path),
}

#[derive(Debug, Default)]
pub(crate) struct Module {
    pub(crate) file: String,
    pub(crate) parent: Option<usize>,
    /// The names from the crate's root down.
    pub(crate) path: Vec<String>,
    pub(crate) names: BTreeMap<String, Vec<Meaning>>,
    /// What `use path::*` opens.
    pub(crate) globs: Vec<Path>,
    /// Every path that a `use` names.
    pub(crate) uses: Vec<Path>,
    /// Every other path in the code, single words too.
    pub(crate) spoken: Vec<Path>,
}

/// The modules; the first is the crate's root.
#[derive(Debug, Default)]
pub(crate) struct Tree {
    pub(crate) modules: Vec<Module>,
}

const DEFINING: [&str; 8] = ["fn", "struct", "enum", "union", "trait", "type", "const", "static"];

impl Tree {
    /// The modules reached from this root file.
    ///
    /// # Errors
    /// A sentence that names a file that is missing or no Rust.
    pub(crate) fn grow(sources: &Sources, root: &str) -> Result<Self, String> {
        let mut tree = Self::default();
        tree.file(sources, root, None, Vec::new(), String::new())?;
        Ok(tree)
    }

    /// Reads one file; its children lie in `folder`, which ends in a slash or is empty.
    fn file(
        &mut self,
        sources: &Sources,
        file: &str,
        parent: Option<usize>,
        path: Vec<String>,
        folder: String,
    ) -> Result<usize, String> {
        let text = sources.get(file).ok_or_else(|| format!("{file} is missing"))?;
        let tokens = tokens(text).map_err(|e| format!("{file}: {e}"))?;
        self.module(sources, file, parent, path, folder, &tokens)
    }

    fn module(
        &mut self,
        sources: &Sources,
        file: &str,
        parent: Option<usize>,
        path: Vec<String>,
        folder: String,
        tokens: &[Token],
    ) -> Result<usize, String> {
        let id = self.modules.len();
        self.modules.push(Module { file: file.to_owned(), parent, path: path.clone(), ..Module::default() });
        let mut rest = Vec::new();
        let mut i = 0;
        while i < tokens.len() {
            let next = tokens.get(i + 1);
            match (&tokens[i], next) {
                (Token::Word(word), Some(Token::Word(name))) if word == "mod" => {
                    let child = [path.clone(), vec![name.clone()]].concat();
                    let inside = format!("{folder}{name}/");
                    let made = if tokens.get(i + 2) == Some(&Token::Open(Delimiter::Brace)) {
                        let close = close_of(tokens, i + 2);
                        let made = self.module(sources, file, Some(id), child, inside, &tokens[i + 3..close])?;
                        i = close + 1;
                        made
                    } else {
                        i += 3;
                        let (short, long) = (format!("{folder}{name}.rs"), format!("{folder}{name}/mod.rs"));
                        let found = if sources.contains_key(&short) { short } else { long };
                        self.file(sources, &found, Some(id), child, inside)?
                    };
                    self.name(id, name, Meaning::Module(made));
                    continue;
                }
                (Token::Word(word), Some(Token::Word(name))) if DEFINING.contains(&word.as_str()) => {
                    self.name(id, name, Meaning::Defined);
                }
                (Token::Word(word), Some(Token::Mark('!'))) if word == "macro_rules" => {
                    if let Some(Token::Word(name)) = tokens.get(i + 2) {
                        self.name(id, name, Meaning::Defined);
                    }
                }
                _ => {}
            }
            // A group is no place for items of this module, but for paths.
            let end = if matches!(tokens[i], Token::Open(_)) { close_of(tokens, i) + 1 } else { i + 1 };
            rest.extend_from_slice(&tokens[i..end.min(tokens.len())]);
            i = end;
        }
        self.paths(id, &rest);
        Ok(id)
    }

    fn name(&mut self, module: usize, name: &str, meaning: Meaning) {
        self.modules[module].names.entry(name.to_owned()).or_default().push(meaning);
    }

    /// Collects the paths of a module's code, those of `use` with the names they bring in. A `use`
    /// within a function counts as one of the whole module.
    fn paths(&mut self, id: usize, tokens: &[Token]) {
        let mut i = 0;
        while i < tokens.len() {
            match &tokens[i] {
                Token::Word(word) if word == "use" => i = self.used(id, tokens, i + 1, &Vec::new()) + 1,
                Token::Word(word) if word == "pub" && tokens.get(i + 1) == Some(&Token::Open(Delimiter::Parenthesis)) => {
                    i = close_of(tokens, i + 1) + 1;
                }
                Token::Word(_) => {
                    let (path, after) = path_at(tokens, i);
                    if begins(tokens, i) {
                        self.modules[id].spoken.push(path);
                    }
                    i = after;
                }
                _ => i += 1,
            }
        }
    }

    /// Reads one branch of a `use` and gives the index of what ends it.
    fn used(&mut self, id: usize, tokens: &[Token], mut i: usize, before: &Path) -> usize {
        let mut path = before.clone();
        loop {
            match tokens.get(i) {
                Some(Token::Word(word)) if word == "as" => {
                    let Some(Token::Word(name)) = tokens.get(i + 1) else { return i };
                    self.bring(id, path, Some(name));
                    return i + 2;
                }
                Some(Token::Word(word)) => path.push(word.clone()),
                Some(Token::Mark('*')) => {
                    self.modules[id].uses.push(path.clone());
                    self.modules[id].globs.push(path);
                    return i + 1;
                }
                Some(Token::Open(Delimiter::Brace)) => {
                    let close = close_of(tokens, i);
                    i += 1;
                    while i < close {
                        i = self.used(id, &tokens[..close], i, &path) + 1;
                    }
                    return close + 1;
                }
                Some(Token::Mark(':' | '$')) => {}
                _ => {
                    self.bring(id, path, None);
                    return i;
                }
            }
            i += 1;
        }
    }

    fn bring(&mut self, id: usize, mut path: Path, name: Option<&String>) {
        if path.last().is_some_and(|l| l == "self") && path.len() > 1 {
            path.pop();
        }
        let Some(last) = path.last().cloned() else { return };
        self.modules[id].uses.push(path.clone());
        self.name(id, name.unwrap_or(&last), Meaning::Brought(path));
    }
}

/// The path whose first word stands at `i`, and the index after it.
fn path_at(tokens: &[Token], mut i: usize) -> (Path, usize) {
    let mut path = Vec::new();
    while let Some(Token::Word(word)) = tokens.get(i) {
        path.push(word.clone());
        i += 1;
        match (tokens.get(i), tokens.get(i + 1), tokens.get(i + 2)) {
            (Some(Token::Mark(':')), Some(Token::Mark(':')), Some(Token::Word(_))) => i += 2,
            _ => break,
        }
    }
    (path, i)
}

/// Whether the word at `i` can begin a path: no field or method, no lifetime, no rest of a longer path,
/// no word of a macro's own.
fn begins(tokens: &[Token], i: usize) -> bool {
    let before = |n: usize| i.checked_sub(n).map(|at| &tokens[at]);
    match before(1) {
        Some(Token::Mark('.')) => before(2) == Some(&Token::Mark('.')),
        Some(Token::Mark(':')) => before(2) != Some(&Token::Mark(':')),
        Some(Token::Mark('$')) => tokens[i] == Token::Word("crate".to_owned()),
        Some(Token::Mark('\'')) => false,
        _ => true,
    }
}
