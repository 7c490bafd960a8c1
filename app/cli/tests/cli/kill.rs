//! A power cut between any two writes: the program is killed while people write, many times over.

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use crate::bench::{Bench, Look, entry, place, post};

const ROUNDS: u64 = 14;
const ZONES: [&str; 3] = ["Z01.L", "Z07.R", "Z52"];

/// A number in 0..below that depends on the round only (xorshift, seeded).
fn drawn(round: u64, below: u64) -> u64 {
    let mut x = 0x9e37_79b9_7f4a_7c15_u64.wrapping_mul(round + 1);
    for _ in 0..3 {
        x ^= x << 13;
        x ^= x >> 7;
        x ^= x << 17;
    }
    x % below
}

/// After each kill the record is whole, and every entry that was answered stands in it exactly once.
#[test]
fn a_program_killed_while_people_write_leaves_a_whole_record() {
    let bench = Bench::with_lead();
    let (car, who) = (bench.car(), bench.lead());
    let (next, answered) = (AtomicU64::new(1), Mutex::new(BTreeSet::new()));
    for round in 0..ROUNDS {
        let mut server = bench.serve();
        let listed = bench.run(&["car", "list", "--json"]).json();
        let base = listed["cars"][0]["events"].as_u64().expect("a count");
        let (address, dead, before) = (server.address.clone(), AtomicBool::new(false), next.load(Ordering::SeqCst));
        std::thread::scope(|scope| {
            for zone in ZONES {
                let (address, car, who, next, answered, dead) = (&address, &car, &who, &next, &answered, &dead);
                scope.spawn(move || {
                    let mut base = base;
                    while !dead.load(Ordering::SeqCst) {
                        let id = entry(next.fetch_add(1, Ordering::SeqCst));
                        let look = Look { entry: &id, base, zone, result: "bad", who };
                        let Some((status, body)) = post(address, car, &look) else {
                            std::thread::sleep(Duration::from_millis(1));
                            continue;
                        };
                        assert_eq!(status, 201, "{body}");
                        base = place(&body).expect("a place");
                        answered.lock().unwrap_or_else(PoisonError::into_inner).insert(id);
                    }
                });
            }
            // Not before somebody writes, and then at a moment that the round draws.
            while next.load(Ordering::SeqCst) < before + 6 {
                std::thread::sleep(Duration::from_millis(2));
            }
            std::thread::sleep(Duration::from_millis(drawn(round, 120)));
            server.kill();
            dead.store(true, Ordering::SeqCst);
        });
        let answered = answered.lock().unwrap_or_else(PoisonError::into_inner);
        let verified = bench.run(&["car", "verify", &car, "--json"]).json();
        assert_eq!(verified["intact"], true, "round {round}: {verified}");
        let mut kept = BTreeSet::new();
        for line in bench.record(&car) {
            let read: serde_json::Value = serde_json::from_str(&line).expect("an entry");
            let id = read["entry"].as_str().expect("an identifier").to_string();
            assert!(kept.insert(id), "round {round}: twice: {line}");
        }
        let lost: Vec<&String> = answered.difference(&kept).collect();
        assert!(lost.is_empty(), "round {round}: answered and lost: {lost:?}");
        assert_eq!(verified["events"], kept.len() as u64);
    }
    let answered = answered.into_inner().unwrap_or_else(PoisonError::into_inner);
    assert!(answered.len() as u64 >= ROUNDS, "only {} entries were answered in all rounds", answered.len());
}
