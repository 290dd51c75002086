use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{BookError, Permission, Uid};

/// What was handed to a permission's holder, and when. It outlives the permission.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Receipt {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it was of.
    pub beach: Uid,
    /// The permission, which may be gone since.
    pub permission: Uid,
    /// What the permission was called then.
    pub name: String,
    /// Who was handed it.
    pub holder: String,
    /// When.
    pub time: Timestamp,
    /// The first day told, if a period was chosen.
    pub from: Option<Date>,
    /// The last day told, if a period was chosen.
    pub to: Option<Date>,
    /// The finds that were told, by their uids in this book.
    pub finds: Vec<Uid>,
    /// SHA-256 of the manifest that lay beside the files, hexadecimal.
    pub manifest: String,
}

impl Receipt {
    /// What was handed over under a permission at an instant, with the checksum of its manifest.
    pub fn new(permission: &Permission, time: Timestamp, manifest: impl Into<String>) -> Self {
        let (manifest, own) = (manifest.into(), permission.uid.to_string());
        Self {
            uid: Uid::of_content("receipt", [own.as_bytes(), time.to_string().as_bytes(), manifest.as_bytes()]),
            beach: permission.beach,
            permission: permission.uid,
            name: permission.name.clone(),
            holder: permission.holder.clone(),
            time,
            from: None,
            to: None,
            finds: Vec::new(),
            manifest,
        }
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        match (self.from, self.to) {
            (Some(from), Some(to)) if to < from => {
                Err(BookError::field("period of a receipt", format!("ends on {to} before it begins on {from}")))
            }
            _ => Ok(()),
        }
    }
}
