//! A source file as a flat row of tokens, without comments, attributes and whatever only tests compile.

use proc_macro2::{Delimiter, TokenStream, TokenTree};

/// One token of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Token {
    Word(String),
    Mark(char),
    Open(Delimiter),
    Close(Delimiter),
    Literal,
}

/// The tokens of a file's text.
///
/// # Errors
/// A sentence when the text is no Rust.
pub(crate) fn tokens(text: &str) -> Result<Vec<Token>, String> {
    let mut out = Vec::new();
    // A byte order mark or a shebang line would be refused here; neither is in this crate.
    flatten(text.parse().map_err(|e| format!("no Rust: {e}"))?, &mut out);
    Ok(out)
}

fn flatten(stream: TokenStream, out: &mut Vec<Token>) {
    let trees: Vec<TokenTree> = stream.into_iter().collect();
    let mut i = 0;
    while i < trees.len() {
        if let Some((after, tests_only)) = attribute(&trees, i) {
            i = if tests_only { end_of_item(&trees, after) } else { after };
            continue;
        }
        match &trees[i] {
            TokenTree::Group(group) => {
                out.push(Token::Open(group.delimiter()));
                flatten(group.stream(), out);
                out.push(Token::Close(group.delimiter()));
            }
            TokenTree::Ident(word) => out.push(Token::Word(word.to_string().trim_start_matches("r#").to_owned())),
            TokenTree::Punct(mark) => out.push(Token::Mark(mark.as_char())),
            TokenTree::Literal(_) => out.push(Token::Literal),
        }
        i += 1;
    }
}

fn is_mark(tree: Option<&TokenTree>, mark: char) -> bool {
    matches!(tree, Some(TokenTree::Punct(p)) if p.as_char() == mark)
}

/// Where the attribute that begins at `i` ends, and whether it leaves what follows to tests alone.
fn attribute(trees: &[TokenTree], i: usize) -> Option<(usize, bool)> {
    if !is_mark(trees.get(i), '#') {
        return None;
    }
    let inner = is_mark(trees.get(i + 1), '!');
    let at = i + 1 + usize::from(inner);
    let Some(TokenTree::Group(group)) = trees.get(at) else { return None };
    if group.delimiter() != Delimiter::Bracket {
        return None;
    }
    // The blanks between tokens are of no meaning, so they must not decide here.
    let says: String = group.stream().to_string().split_whitespace().collect();
    let tests_only = says == "test" || says == "cfg(test)" || says.starts_with("cfg(all(test,");
    Some((at + 1, tests_only && !inner))
}

/// Where the item that begins at `i` ends: after its braces or its semicolon.
fn end_of_item(trees: &[TokenTree], mut i: usize) -> usize {
    while i < trees.len() {
        let ends = match &trees[i] {
            TokenTree::Group(group) => group.delimiter() == Delimiter::Brace,
            TokenTree::Punct(mark) => mark.as_char() == ';',
            _ => false,
        };
        i += 1;
        if ends {
            break;
        }
    }
    i
}

/// The index of the token that closes the group opened at `open`.
pub(crate) fn close_of(tokens: &[Token], open: usize) -> usize {
    let mut depth = 0_usize;
    for (i, token) in tokens.iter().enumerate().skip(open) {
        match token {
            Token::Open(_) => depth += 1,
            Token::Close(_) => {
                depth -= 1;
                if depth == 0 {
                    return i;
                }
            }
            _ => {}
        }
    }
    tokens.len()
}
