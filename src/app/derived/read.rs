use std::collections::BTreeSet;

use super::{Both, Land};
use crate::Progress;
use crate::app::shown::ReadAsk;
use crate::app::state::Item;
use crate::book::{Book, Uid};

pub(crate) struct ReadOutline {
    pub(crate) ring: Vec<Both>,
    pub(crate) label: String,
    pub(crate) said: String,
    pub(crate) members: BTreeSet<Item>,
}

#[derive(Default)]
pub(crate) struct Read {
    pub(crate) outlines: Vec<ReadOutline>,
    pub(crate) band_names: Vec<String>,
    pub(crate) band_members: Vec<BTreeSet<Item>>,
}

impl Read {
    pub(crate) fn of(_book: &Book, _beach: Uid, _land: &Land, _ask: ReadAsk, _progress: &Progress) -> Result<Self, String> {
        Ok(Self::default())
    }
}
