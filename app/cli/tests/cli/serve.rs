//! `serve`: the line it prints, the way it ends, and two of it over one file.

use std::collections::BTreeMap;

use crate::bench::{Bench, Look, entry, place, post};

#[test]
fn it_listens_before_it_says_so_and_ends_when_it_is_asked() {
    let bench = Bench::with_lead();
    for signal in ["-INT", "-TERM"] {
        let server = bench.serve();
        assert!(server.address.starts_with("127.0.0.1:") && !server.address.ends_with(":0"), "{}", server.address);
        assert!(std::net::TcpStream::connect(&server.address).is_ok());
        assert_eq!(server.ask_to_stop(signal), 0);
    }
}

#[test]
fn an_address_that_is_taken_is_said_in_one_line() {
    let bench = Bench::with_lead();
    let server = bench.serve();
    bench.run(&["serve", "--listen", &server.address]).refused(3, &[&server.address, "--listen"]);
}

#[test]
fn a_look_sent_twice_is_kept_once() {
    let bench = Bench::with_lead();
    let (car, who, server) = (bench.car(), bench.lead(), bench.serve());
    let look = Look { entry: &entry(1), base: 1, zone: "Z01.L", result: "bad", who: &who };
    let (status, body) = post(&server.address, &car, &look).unwrap();
    assert_eq!((status, place(&body)), (201, Some(2)), "{body}");
    let (status, body) = post(&server.address, &car, &look).unwrap();
    assert_eq!((status, place(&body)), (200, Some(2)), "{body}");
    assert_eq!(bench.record(&car).len(), 2);
}

#[test]
fn a_record_with_entries_of_a_newer_program_is_read_and_not_written() {
    use job::ids::Hash;
    let bench = Bench::with_lead();
    let (car, who) = (bench.car(), bench.lead());
    let first = bench.record(&car).remove(0);
    let by = format!("{{\"id\":\"{who}\",\"name\":\"Lead\",\"role\":\"lead\"}}");
    let second = format!(
        "{{\"kind\":\"hologram\",\"v\":7,\"car\":\"{car}\",\"seq\":2,\"at\":\"2126-01-01T00:00:00Z\",\"by\":{by},\
         \"entry\":\"{}\",\"prev\":\"{}\",\"data\":{{\"beams\":3}}}}",
        entry(9),
        Hash::of(first.as_bytes())
    );
    let manifest = crate::bench::unpack(&bench.path("record.zip"), "car.json");
    let manifest = manifest.replace("\"events\": 1", "\"events\": 2");
    let manifest = manifest.replace(&Hash::of(first.as_bytes()).to_string(), &Hash::of(second.as_bytes()).to_string());
    let lines = format!("{first}\n{second}\n");
    crate::bench::pack(
        &bench.path("newer.zip"),
        &[("car.json", manifest.as_bytes()), ("events.jsonl", lines.as_bytes())],
    );
    assert_eq!(bench.run(&["car", "verify", "newer.zip", "--json"]).json()["intact"], true);
    assert_eq!(bench.run(&["car", "import", "newer.zip", "--json"]).json()["new"], 1);

    let server = bench.serve();
    let look = Look { entry: &entry(1), base: 2, zone: "Z01.L", result: "clear", who: &who };
    let (status, body) = post(&server.address, &car, &look).unwrap();
    assert!((400..500).contains(&status), "{status} {body}");
    assert!(body.contains("newer version"), "{body}");
    assert_eq!(bench.record(&car), [first, second]);
}

/// Two programs over one SQLite file, each with two people writing: everything that was answered is kept once.
#[test]
fn two_programs_writing_one_file_lose_nothing() {
    const EACH: u64 = 12;
    let bench = Bench::with_lead();
    let (car, who) = (bench.car(), bench.lead());
    let (one, other) = (bench.serve(), bench.serve());
    let zones = ["Z01.L", "Z01.R", "Z02.L", "Z02.R"];
    std::thread::scope(|scope| {
        for (hand, zone) in (0..).zip(zones) {
            let address = if hand % 2 == 0 { &one.address } else { &other.address };
            let (car, who) = (&car, &who);
            scope.spawn(move || {
                let mut base = 1;
                for count in 0..EACH {
                    let id = entry(1000 * (hand + 1) + count);
                    let look = Look { entry: &id, base, zone, result: "clear", who };
                    let (status, body) = post(address, car, &look).expect("an answer");
                    assert_eq!(status, 201, "{body}");
                    base = place(&body).expect("a place");
                }
            });
        }
    });
    let mut kept: BTreeMap<String, usize> = BTreeMap::new();
    for line in bench.record(&car).iter().skip(1) {
        let read: serde_json::Value = serde_json::from_str(line).unwrap();
        *kept.entry(read["entry"].as_str().unwrap().to_string()).or_default() += 1;
    }
    assert_eq!(kept.len() as u64, 4 * EACH);
    assert!(kept.values().all(|times| *times == 1), "{kept:?}");
    assert_eq!(bench.run(&["car", "verify", &car, "--json"]).json()["events"], 4 * EACH + 1);
}
