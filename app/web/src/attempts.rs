//! Sign-in attempts are slowed: after a few wrong passphrases an address has to wait.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};

use jiff::{SignedDuration, Timestamp};

/// Wrong attempts that cost nothing.
const FREE: u32 = 4;
/// The longest wait between attempts.
const LONGEST_S: i64 = 300;
/// Addresses remembered at once; when full, the oldest is forgotten.
const MOST: usize = 4096;

/// Wrong sign-in attempts by address.
#[derive(Default)]
pub(crate) struct Attempts(Mutex<BTreeMap<IpAddr, (u32, Timestamp)>>);

impl Attempts {
    /// How many seconds this address has to wait before it may try again.
    pub(crate) fn wait_s(&self, from: IpAddr, now: Timestamp) -> i64 {
        let attempts = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        attempts.get(&from).map_or(0, |(_, until)| until.duration_since(now).as_secs().max(0))
    }

    /// Notes a wrong attempt.
    pub(crate) fn wrong(&self, from: IpAddr, now: Timestamp) {
        let mut attempts = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let count = attempts.get(&from).map_or(0, |(count, _)| *count).saturating_add(1);
        let wait_s = if count <= FREE { 0 } else { (1_i64 << (count - FREE).min(10)).min(LONGEST_S) };
        attempts.insert(from, (count, now.saturating_add(SignedDuration::from_secs(wait_s)).unwrap_or(now)));
        if attempts.len() > MOST {
            let oldest = attempts.iter().min_by_key(|(_, (_, until))| *until).map(|(from, _)| *from);
            oldest.map(|from| attempts.remove(&from));
        }
    }

    /// Forgets an address that signed in.
    pub(crate) fn right(&self, from: IpAddr) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).remove(&from);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fifth_wrong_attempt_has_to_wait_and_each_one_longer() {
        let attempts = Attempts::default();
        let from: IpAddr = [192, 0, 2, 1].into();
        let now = Timestamp::UNIX_EPOCH;
        for _ in 0..4 {
            attempts.wrong(from, now);
            assert_eq!(attempts.wait_s(from, now), 0);
        }
        attempts.wrong(from, now);
        let first = attempts.wait_s(from, now);
        attempts.wrong(from, now);
        assert!(first > 0 && attempts.wait_s(from, now) > first);
        assert_eq!(attempts.wait_s([192, 0, 2, 2].into(), now), 0);
        attempts.right(from);
        assert_eq!(attempts.wait_s(from, now), 0);
    }
}
