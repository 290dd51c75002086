use jiff::Timestamp;

/// That the access at which a route ends is itself covered or cut off at the next high water, margins counted.
#[derive(Debug, Clone, PartialEq)]
pub struct NotOff {
    /// Its name.
    pub access: String,
    /// From when it stands under water, where it does.
    pub under: Option<Timestamp>,
    /// From when no dry way leads from it to the back of the beach; `None` where no surveyed way leads there at all.
    pub cut: Option<Timestamp>,
    /// When the way is dry again; `None` where that is not known.
    pub until: Option<Timestamp>,
}

impl NotOff {
    /// What that means, in a sentence or two, with moments told by `hour`.
    pub fn said(&self, hour: impl Fn(Timestamp) -> String) -> String {
        let until = self.until.map_or_else(String::new, |t| format!(" until {}", hour(t)));
        let cut = match (self.cut, self.under) {
            (Some(cut), Some(under)) if cut >= under => format!("it is itself under water from {}{until}", hour(under)),
            (Some(cut), Some(under)) => {
                format!("the water cuts it off from {}{until}, and it is itself under water from {}", hour(cut), hour(under))
            }
            (Some(cut), None) => format!("it is an island from {}{until}", hour(cut)),
            (None, Some(under)) => format!("it is itself under water from {}{until}", hour(under)),
            (None, None) => "no surveyed way leads from it to the back of the beach".to_owned(),
        };
        format!("{} is NOT a way off the water: {cut}, margins counted. Be on land behind the beach before that.", self.access)
    }
}
