//! Closed lists of the trade: each value has a key that is stored and words that are shown.

/// Declares an enum whose values have a stored key and words for people.
///
/// The key is part of the stored record: it may be added to, never changed.
macro_rules! worded {
    ($(#[$doc:meta])* pub enum $name:ident { $($(#[$vdoc:meta])* $value:ident = $key:literal, $words:literal;)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $key)] $value,)+
        }

        impl $name {
            /// Every value, in the order people meet them.
            pub const ALL: &'static [Self] = &[$(Self::$value),+];

            /// The key as stored in the record and in files.
            pub fn key(self) -> &'static str {
                match self { $(Self::$value => $key),+ }
            }

            /// The words a person reads.
            pub fn words(self) -> &'static str {
                match self { $(Self::$value => $words),+ }
            }

            /// The value with this key.
            pub fn from_key(key: &str) -> Option<Self> {
                match key { $($key => Some(Self::$value),)+ _ => None }
            }
        }
    };
}

pub(crate) use worded;
