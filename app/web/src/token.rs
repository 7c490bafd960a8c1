//! Secrets that stand in a cookie or an address.

use argon2::password_hash::rand_core::{OsRng, RngCore};

/// A token of 256 bits from the operating system's generator, as 64 hexadecimal digits.
pub fn fresh() -> String {
    let mut bytes = [0u8; 32];
    OsRng.fill_bytes(&mut bytes);
    hex::encode(bytes)
}

/// Whether a text could be a token at all.
pub(crate) fn is_one(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_has_256_bits_and_never_comes_twice() {
        let tokens: std::collections::BTreeSet<String> = (0..1000).map(|_| fresh()).collect();
        assert_eq!(tokens.len(), 1000);
        assert!(tokens.iter().all(|t| is_one(t)));
        assert!(!is_one("") && !is_one(&"g".repeat(64)) && !is_one(&"A".repeat(64)) && !is_one(&"0".repeat(63)));
    }
}
