//! TEMPORARY measurement.
use super::*;
use crate::details::*;
use jiff::civil::date;
#[test]
fn measure() {
    let catalogue = Catalogue::starting_guesses().unwrap();
    let details = CarDetails {
        title: "Car 1".into(),
        body: "two_door_closed".into(),
        year: 1976,
        climate: Climate::TemperateSalted,
        kept: Kept::Outdoors,
        fitted: Default::default(),
        aim: Aim::FineDriver,
        history: Default::default(),
        budget_h: None,
        ask_over_h: None,
        rates: None,
        note: String::new(),
        invented: true,
    };
    let shell = shell::Shell::new(&catalogue, &details, date(2026, 6, 1)).unwrap();
    let t = std::time::Instant::now();
    let mut hidden = Hidden::of(&shell).unwrap();
    println!("compile {:?} size {:?} slots {}", t.elapsed(), hidden.size(), shell.slots.len());
    let facts: Vec<evidence::Facts> = evidence::Facts::none(shell.slots.len());
    let none = Told::of(&shell, &facts);
    let t = std::time::Instant::now();
    let before = hidden.chances(&none).unwrap();
    println!("update {:?}", t.elapsed());
    let t = std::time::Instant::now();
    for _ in 0..100 {
        hidden.chances(&none).unwrap();
    }
    println!("update warm {:?}", t.elapsed() / 100);
    let t = std::time::Instant::now();
    let (looks, pair) = next::looks(&shell, &facts, &mut hidden, &none).unwrap();
    println!("update looks {:?} {}", t.elapsed(), looks.len());
    for l in looks.iter().take(8) {
        println!(
            "n 1 {} gain {:.2} worth {:.2} stake {:.0} reaches {}",
            l.say,
            l.gain_h,
            l.worth_h,
            l.stake_h,
            l.reaches.len()
        );
    }
    println!("n 1 {pair:?}");
    let t = std::time::Instant::now();
    let d = hidden.draw(&none, 8192, 1).unwrap();
    println!("update draw {:?} {}", t.elapsed(), d.len());
    let odds = |p: f64| p / (1.0 - p);
    let (mut next, mut opp, mut far, mut uncovered) = (vec![], vec![], vec![], vec![]);
    for (place, slot) in shell.slots.iter().enumerate() {
        let told = Told { seen: forecast::shell::Seen { known: vec![(place, true)], facts: vec![] }, pieces: vec![] };
        let after = hidden.chances(&told).unwrap();
        for other in 0..shell.slots.len() {
            if other == place {
                continue;
            }
            let f = odds(after[other]) / odds(before[other]);
            if slot.opposite == Some(other) {
                opp.push((f, slot.instance.id.clone()));
            } else if slot.neighbours.iter().flatten().any(|n| *n == other)
                && shell.slots[other].neighbour_rotten.is_some()
            {
                let shared = catalogue
                    .paths()
                    .any(|p| p.zones.contains(&slot.zone.id) && p.zones.contains(&shell.slots[other].zone.id));
                if shared {
                    next.push((f, format!("{}-{}", slot.instance.id, shell.slots[other].instance.id)))
                } else {
                    uncovered.push((f, String::new()))
                }
            } else {
                far.push((f, String::new()));
            }
        }
    }
    for (name, mut v) in [("next", next), ("opposite", opp), ("far", far), ("uncovered", uncovered)] {
        v.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mean = v.iter().map(|x| x.0.ln()).sum::<f64>() / v.len() as f64;
        println!(
            "{name} n {} min {:?} p10 {:?} median {:?} p90 {:?} max {:?} geo {:.2}",
            v.len(),
            v[0],
            v[v.len() / 10],
            v[v.len() / 2],
            v[v.len() * 9 / 10],
            v[v.len() - 1],
            mean.exp()
        );
    }
}
