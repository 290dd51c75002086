use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::BookError;

/// The lasting name of a record, written as 32 hexadecimal digits.
///
/// What comes from a file gets a uid made from its content, so that the same record is known again
/// whenever that file, or a copy of it, comes back, even after it was edited in the book.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Uid(u128);

impl Uid {
    /// A fresh uid for a record made by hand.
    pub fn fresh() -> Self {
        Self(rand::random())
    }

    /// The uid that stands for a content: the same parts always give the same uid.
    ///
    /// `kind` keeps records of different kinds apart. The parts are length-prefixed, so no two
    /// different lists run together. BLAKE3, cut to 128 bits.
    pub fn of_content<'a>(kind: &'a str, parts: impl IntoIterator<Item = &'a [u8]>) -> Self {
        let mut hasher = blake3::Hasher::new();
        for part in std::iter::once(kind.as_bytes()).chain(parts) {
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part);
        }
        Self::cut(&hasher.finalize())
    }

    /// What this one is called by whoever is not to know it: the same for the same key, and nothing to anyone without
    /// the key. Keyed BLAKE3, cut to 128 bits.
    #[must_use]
    pub fn disguised(self, key: Self) -> Self {
        let key = blake3::derive_key("Scourline 2026-11 ids of what is handed over", &key.0.to_be_bytes());
        Self::cut(&blake3::keyed_hash(&key, &self.0.to_be_bytes()))
    }

    fn cut(hash: &blake3::Hash) -> Self {
        let mut bytes = [0; 16];
        bytes.copy_from_slice(&hash.as_bytes()[..16]);
        Self(u128::from_be_bytes(bytes))
    }
}

impl fmt::Display for Uid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // By hand, as it is done a million times over where a large file is taken in.
        let mut digits = [0; 32];
        for (pair, byte) in digits.chunks_exact_mut(2).zip(self.0.to_be_bytes()) {
            for (digit, half) in pair.iter_mut().zip([byte >> 4, byte & 15]) {
                *digit = if half < 10 { b'0' + half } else { b'a' + half - 10 };
            }
        }
        f.write_str(std::str::from_utf8(&digits).map_err(|_| fmt::Error)?)
    }
}

impl fmt::Debug for Uid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Uid({:08x}…)", self.0 >> 96)
    }
}

impl FromStr for Uid {
    type Err = BookError;
    fn from_str(text: &str) -> Result<Self, BookError> {
        let digits = text.len() == 32 && text.bytes().all(|b| b.is_ascii_hexdigit());
        match u128::from_str_radix(text, 16) {
            Ok(n) if digits => Ok(Self(n)),
            _ => Err(BookError::field("uid", format!("\"{text}\" is not 32 hexadecimal digits"))),
        }
    }
}

impl TryFrom<String> for Uid {
    type Error = BookError;
    fn try_from(text: String) -> Result<Self, BookError> {
        text.parse()
    }
}

impl From<Uid> for String {
    fn from(uid: Uid) -> Self {
        uid.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn content_decides_and_parts_do_not_run_together() {
        let of = |kind, parts: &[&str]| Uid::of_content(kind, parts.iter().map(|p| p.as_bytes()));
        assert_eq!(of("find", &["a", "b"]), of("find", &["a", "b"]));
        assert_ne!(of("find", &["a", "b"]), of("find", &["ab"]));
        assert_ne!(of("find", &["a"]), of("signal", &["a"]));
    }

    #[test]
    fn reads_itself_back() {
        let uid = Uid::fresh();
        assert_eq!(uid.to_string().parse::<Uid>().unwrap(), uid);
        assert_eq!(uid.to_string(), format!("{:032x}", uid.0));
        for bad in ["", "12", "+123456789012345678901234567890ab", "zz345678901234567890123456789012"] {
            assert!(bad.parse::<Uid>().is_err(), "{bad}");
        }
    }
}
