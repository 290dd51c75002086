/// Declares an enum whose variants each have one stored word, and an `Other` for the rest if asked.
///
/// The word is what files hold (`snake_case`); `label` is how the screen says it.
macro_rules! words {
    (
        $(#[$meta:meta])*
        $name:ident, $what:literal { $( $(#[$vmeta:meta])* $variant:ident = $word:literal, $label:literal; )+ }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $( $(#[$vmeta])* $variant, )+ }

        impl $name {
            /// Every value, in the order they are offered.
            pub const ALL: &'static [$name] = &[ $( $name::$variant, )+ ];

            /// The word that files hold.
            pub fn word(self) -> &'static str {
                match self { $( $name::$variant => $word, )+ }
            }

            /// How the screen says it.
            pub fn label(self) -> &'static str {
                match self { $( $name::$variant => $label, )+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.label())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::book::BookError;
            /// Reads the stored word or the label; case, spaces, hyphens and underscores do not matter.
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                let plain = |s: &str| s.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
                let wanted = plain(text);
                $name::ALL
                    .iter()
                    .copied()
                    .find(|v| plain(v.word()) == wanted || plain(v.label()) == wanted)
                    .ok_or_else(|| $crate::book::BookError::Word {
                        what: $what,
                        text: text.to_owned(),
                        choices: $name::ALL.iter().map(|v| v.word()).collect::<Vec<_>>().join(", "),
                    })
            }
        }
    };
}
pub(crate) use words;
