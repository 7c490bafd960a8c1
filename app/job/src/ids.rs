//! Names of things in the record: cars, entries, people, and the content hash that ties them together.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// A text that is not the identifier it was taken for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{found}\" is not {wanted}")]
pub struct IdError {
    found: String,
    wanted: &'static str,
}

macro_rules! uuid_id {
    ($(#[$doc:meta])* $name:ident, $wanted:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl $name {
            /// A new identifier that sorts by the time it was made (UUID version 7).
            pub fn fresh() -> Self {
                Self(Uuid::now_v7())
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = IdError;
            fn from_str(text: &str) -> Result<Self, IdError> {
                Uuid::parse_str(text.trim())
                    .map(Self)
                    .map_err(|_| IdError { found: text.chars().take(80).collect(), wanted: $wanted })
            }
        }
    };
}

uuid_id!(
    /// One car in the shop.
    CarId,
    "the identifier of a car"
);
uuid_id!(
    /// One entry as it was typed: the same identifier sent twice is kept once.
    EntryId,
    "the identifier of an entry"
);
uuid_id!(
    /// One person of the shop.
    PersonId,
    "the identifier of a person"
);

/// SHA-256 of some bytes: of an event's stored text, or of a photograph.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash([u8; 32]);

impl Hash {
    /// What stands where the first event of a record names the one before it.
    pub const NONE: Self = Self([0; 32]);

    /// The hash of `bytes`.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// The 32 raw bytes.
    pub fn bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// The first 128 bits, to make a name of.
    pub(crate) fn leading(&self) -> u128 {
        self.0.iter().take(16).fold(0, |sum, byte| sum << 8 | u128::from(*byte))
    }

    /// The first sixteen digits in groups of four, as a title block prints it.
    pub fn short(&self) -> String {
        let hex = self.to_string();
        format!("{} {} {} {}", &hex[..4], &hex[4..8], &hex[8..12], &hex[12..16])
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex::encode(self.0))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Hash({self})")
    }
}

impl FromStr for Hash {
    type Err = IdError;
    /// Takes 64 hexadecimal digits; blanks between groups are ignored, as people copy them from paper.
    fn from_str(text: &str) -> Result<Self, IdError> {
        let digits: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        let mut bytes = [0; 32];
        hex::decode_to_slice(&digits, &mut bytes).map_err(|_| IdError {
            found: text.chars().take(80).collect(),
            wanted: "a hash of 64 hexadecimal digits",
        })?;
        Ok(Self(bytes))
    }
}

impl Serialize for Hash {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut digits = [0; 64];
        // The buffer is twice the input by construction, so encoding cannot fail.
        let _ = hex::encode_to_slice(self.0, &mut digits);
        serializer.serialize_str(std::str::from_utf8(&digits).unwrap_or_default())
    }
}

impl<'de> Deserialize<'de> for Hash {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4 example: SHA-256 of "abc".
    #[test]
    fn published_sha256_of_abc() {
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(Hash::of(b"abc").to_string(), expected);
        assert_eq!(expected.parse::<Hash>().unwrap(), Hash::of(b"abc"));
    }

    #[test]
    fn a_hash_copied_from_paper_may_carry_blanks() {
        let hash = Hash::of(b"abc");
        let spaced = format!("{} {}", hash.short(), &hash.to_string()[16..]);
        assert_eq!(spaced.parse::<Hash>().unwrap(), hash);
        assert!("12".parse::<Hash>().is_err());
    }
}
