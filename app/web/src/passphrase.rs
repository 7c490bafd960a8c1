//! Passphrases, kept as argon2id strings (RFC 9106).

use argon2::password_hash::rand_core::OsRng;
use argon2::password_hash::{PasswordHash, PasswordHasher, PasswordVerifier, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};

/// The fewest characters a passphrase may have (OWASP ASVS 4.0, 2.1.1, asks for 12).
pub const SHORTEST: usize = 12;
/// The most characters taken, so that hashing cannot be made to take for ever.
pub const LONGEST: usize = 256;

/// Why a passphrase is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PassphraseError {
    /// Too short.
    #[error(
        "the passphrase has {0} characters; at least {SHORTEST} are needed: four words that do not belong together will do"
    )]
    Short(usize),
    /// Too long.
    #[error("the passphrase has {0} characters; at most {LONGEST} are taken")]
    Long(usize),
    /// Hashing failed.
    #[error("the passphrase could not be kept ({0})")]
    Hash(String),
}

fn argon() -> Argon2<'static> {
    // 19 MiB, two passes: the smaller of the two settings that OWASP's cheat sheet names for argon2id.
    Params::new(19 * 1024, 2, 1, None)
        .map_or_else(|_| Argon2::default(), |p| Argon2::new(Algorithm::Argon2id, Version::V0x13, p))
}

/// Hashes a passphrase for keeping.
///
/// # Errors
/// When it is too short or too long.
pub fn hash(passphrase: &str) -> Result<String, PassphraseError> {
    let length = passphrase.chars().count();
    if length < SHORTEST {
        return Err(PassphraseError::Short(length));
    }
    if length > LONGEST {
        return Err(PassphraseError::Long(length));
    }
    let salt = SaltString::generate(&mut OsRng);
    let hash = argon().hash_password(passphrase.as_bytes(), &salt);
    hash.map(|h| h.to_string()).map_err(|e| PassphraseError::Hash(e.to_string()))
}

/// Whether a passphrase is the one that was kept. A kept string that cannot be read matches nothing.
pub fn verify(passphrase: &str, kept: &str) -> bool {
    if passphrase.chars().count() > LONGEST {
        return false;
    }
    PasswordHash::new(kept).is_ok_and(|kept| argon().verify_password(passphrase.as_bytes(), &kept).is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_passphrase_matches_itself_and_nothing_else() {
        let kept = hash("four words on paper").unwrap();
        assert!(kept.starts_with("$argon2id$"));
        assert!(verify("four words on paper", &kept));
        assert!(!verify("four words on papers", &kept));
        assert!(!verify("four words on paper", "not a hash"));
        assert_ne!(kept, hash("four words on paper").unwrap(), "each has a salt of its own");
    }

    #[test]
    fn a_short_passphrase_is_refused() {
        assert_eq!(hash("short"), Err(PassphraseError::Short(5)));
        assert_eq!(hash(&"x".repeat(257)), Err(PassphraseError::Long(257)));
    }
}
