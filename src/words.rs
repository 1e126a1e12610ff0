//! Choices: one macro makes an enum whose words are the same in the file, on screen and on the command line.

/// Declares a choice. Each variant has one quoted lower-case word; the enum gets `ALL`, `WORDS`, `word`,
/// `Display`, `FromStr`, and serde as that word.
#[macro_export]
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[$vdoc])* $variant),* }

        impl $name {
            /// Every choice, in the order shown.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];
            /// The word of every choice, in the same order.
            pub const WORDS: &'static [&'static str] = &[$($word),*];

            /// The word written in the file and on screen.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),* }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.pad(self.word()) }
        }

        impl std::str::FromStr for $name {
            type Err = String;
            fn from_str(s: &str) -> Result<Self, String> {
                match s { $($word => Ok(Self::$variant),)* _ => Err(format!("{s:?} is none of: {}", Self::WORDS.join(", "))) }
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> { s.serialize_str(self.word()) }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let s = <std::borrow::Cow<'de, str>>::deserialize(d)?;
                s.parse().map_err(serde::de::Error::custom)
            }
        }
    };
}

/// So many of something that is many by an `s`: `1 run`, `2 runs`.
#[must_use]
pub fn counted(n: impl std::fmt::Display, what: &str) -> String {
    let n = n.to_string();
    let s = if n == "1" { "" } else { "s" };
    format!("{n} {what}{s}")
}
