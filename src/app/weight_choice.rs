//! Which weights of finds are looked at.

use crate::book::Weight;
use crate::reading::Of;

/// Which finds a reading takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum WeightChoice {
    /// Every find.
    #[default]
    All,
    /// Heavy ones.
    Heavy,
    /// Light ones.
    Light,
}

impl WeightChoice {
    /// Every choice in the order they stand.
    pub const ALL: [Self; 3] = [Self::All, Self::Heavy, Self::Light];

    /// Its name on screen.
    pub fn label(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Heavy => "heavy",
            Self::Light => "light",
        }
    }

    /// Whether a find of this weight is taken.
    pub fn takes(self, weight: Weight) -> bool {
        match self {
            Self::All => true,
            Self::Heavy => weight == Weight::Heavy,
            Self::Light => weight == Weight::Light,
        }
    }

    /// The reading's word for it.
    pub(crate) fn in_reading(self) -> Of {
        match self {
            Self::All => Of::All,
            Self::Heavy => Of::Heavy,
            Self::Light => Of::Light,
        }
    }
}
