//! Which sheet stands beside the drawings.

/// The sheet beside the drawings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SheetChoice {
    /// Outings and finds.
    #[default]
    Log,
    /// Patterns.
    Read,
    /// The next low tide.
    NextLow,
    /// Handing over.
    Share,
}

impl SheetChoice {
    /// Every sheet in the order they stand.
    pub const ALL: [Self; 4] = [Self::Log, Self::Read, Self::NextLow, Self::Share];

    /// Its name on screen.
    pub fn label(self) -> &'static str {
        match self {
            Self::Log => "Log",
            Self::Read => "Read",
            Self::NextLow => "Next low",
            Self::Share => "Share",
        }
    }
}

impl std::str::FromStr for SheetChoice {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let plain = |s: &str| s.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
        Self::ALL
            .into_iter()
            .find(|s| plain(s.label()) == plain(text))
            .ok_or_else(|| format!("\"{text}\" is no sheet; use one of log, bench, read, next-low, share"))
    }
}
