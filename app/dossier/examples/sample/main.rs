//! Prints a dossier of an invented car to the path given as argument, with pictures drawn by rule, and a report
//! beside it.
//!
//! `cargo run --release -p dossier --example sample -- FILE.pdf [photographs]`

mod owner;

use std::error::Error;
use std::sync::Arc;
use std::time::Instant;

use dossier::*;
use image::{ImageBuffer, Rgb};
use job::body::svg::{Mark, Palette, map_svg};
use job::body::{Body, BodyStyle};
use job::car::ZoneState;
use job::what::Severity;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().ok_or("name the file to write")?;
    let photographs = arguments.next().map_or(Ok(10), |n| n.parse())?;
    let longer_px = arguments.next().map_or(Ok(800), |n| n.parse())?;
    let view = car(photographs, longer_px)?;
    let start = Instant::now();
    let pdf = render(&view)?;
    println!("{} bytes in {} ms", pdf.len(), start.elapsed().as_millis());
    std::fs::write(&path, pdf)?;
    let report = owner::report(&view);
    let start = Instant::now();
    let pdf = render_report(&report)?;
    println!("report: {} bytes in {} ms", pdf.len(), start.elapsed().as_millis());
    std::fs::write(format!("{path}.report.pdf"), pdf)?;
    Ok(())
}

/// A picture of a hole in grey sheet metal with a scale, every one a little different.
fn picture(n: u64, longer_px: u32) -> Result<Arc<[u8]>, Box<dyn Error>> {
    let shorter_px = longer_px * 3 / 4;
    let (width, height) = if n % 5 == 4 { (shorter_px, longer_px) } else { (longer_px, shorter_px) };
    let (x0, y0) = (250 + (n * 37 % 200) as i64, 220 + (n * 53 % 120) as i64);
    let img = ImageBuffer::from_fn(width, height, |x, y| {
        // Drawn as if it were 800 long, so that every size shows the same.
        let small = |n: u32| i64::from(n) * 800 / i64::from(longer_px);
        let (x, y) = (small(x), small(y));
        let (dx, dy) = ((x - x0) / 2, y - y0);
        let grain = ((x * 7919 + y * 104_729 + n as i64 * 31) % 13) as u8;
        let scale = y > small(height) - 70 && y < small(height) - 30 && x > 80 && x < 560;
        let grey = if scale {
            if x % 40 < 3 { 20 } else { 235 }
        } else if dx * dx + dy * dy < 2_500 {
            25 + grain
        } else if (y - 300 + x / 9).abs() < 40 {
            150 + grain
        } else {
            105 + grain
        };
        Rgb([grey, grey, grey])
    });
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 82).encode_image(&img)?;
    Ok(bytes.into())
}

fn mark(fill: &str, dash: &str) -> String {
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 44 28" width="44" height="28"><defs><pattern id="h" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V6" stroke="#1B3A63" stroke-width="1.6"/></pattern></defs><rect x="1" y="1" width="42" height="26" fill="{fill}" stroke="#1B3A63" stroke-width="1.5" stroke-dasharray="{dash}"/></svg>"##
    )
}

/// The outlines of the two-door body with every state somewhere.
fn outlines() -> Result<Vec<OutlineMap>, Box<dyn Error>> {
    let body = Body::of(BodyStyle::TwoDoorClosed)?;
    let states = body.instances().iter().enumerate().map(|(n, zone)| {
        let state = match n * 7 % 11 {
            0 => ZoneState::Bad(Severity::Pitted),
            1 => ZoneState::Bad(Severity::Thin),
            2 => ZoneState::Bad(Severity::Holed),
            3 => ZoneState::MadeGood,
            4..7 => ZoneState::Clear,
            _ => ZoneState::NotLooked,
        };
        (zone.id.clone(), state)
    });
    let states = states.collect();
    let marks = [Mark { number: 4, at_mm: (-900.0, 300.0) }];
    let drawn = body.views().iter().map(|view| OutlineMap {
        caption: view.caption.clone(),
        svg: map_svg(view, &states, &marks, &[], Palette::PRINT),
    });
    Ok(drawn.collect())
}

fn fact(label: &str, words: &str) -> Fact {
    Fact { label: label.into(), words: words.into() }
}

fn car(photographs: u64, longer_px: u32) -> Result<DossierView, Box<dyn Error>> {
    let head = "7f3a91c2e05b44d8a61f0c7be2d94f3318b7c05ae94d2f6681c3b0aa57de1204";
    let when = |n: u64| format!("{} Nov 2026, {:02}:{:02}", 2 + n % 22, 8 + n % 9, n * 7 % 60);
    let who = ["Bench A", "Bench B", "Lead", "Painter"];
    let photo = |n: u64, place: &str| -> Result<Photo, Box<dyn Error>> {
        Ok(Photo {
            jpeg: if n == 6 { Vec::from(*b"no picture").into() } else { picture(n, longer_px)? },
            number: n,
            place: place.into(),
            caption: "Holed behind the front end, rule in the picture. Lance hole at the left edge.".into(),
            stage: "bare-metal survey".into(),
            when: when(n),
            who: who[(n % 4) as usize].into(),
            mark: "left view, 1 240 mm from the front".into(),
            hash: format!("{:04x} {:04x}", n * 9_973 % 65_536, n * 31_337 % 65_536),
            superseded_by: (n == 3).then_some(9),
        })
    };
    let hatched = mark("url(#h)", "none");
    let entry = |seq: u64, what: &str, note: &str, superseded: bool| Entry {
        seq,
        when: when(seq),
        who: who[(seq % 4) as usize].into(),
        what: what.into(),
        note: note.into(),
        superseded_by: superseded.then_some(seq + 2),
    };
    let reading = |seq: u64, quantity: &str, value: &str, unit: &str| ReadingRow {
        seq,
        when: when(seq),
        who: who[(seq % 4) as usize].into(),
        quantity: quantity.into(),
        value: value.into(),
        unit: unit.into(),
        instrument: "Ultrasonic wall gauge, shop's own".into(),
        precision: "0.05 mm".into(),
        limit: "at least 0.72 mm".into(),
        limit_source: "80 percent of new, common practice".into(),
        place: "300 mm behind the front end, lower third".into(),
        superseded_by: None,
    };
    let names = ["Outer sill skin", "Sill membrane", "Sill front end", "Outer arch lip", "Front wing, lower rear"];
    let sides = ["left", "right"];
    let mut zones = Vec::new();
    for (i, name) in names.iter().enumerate() {
        let i = i as u64;
        zones.push(ZonePage {
            id: format!("Z{i:02}.{}", if i.is_multiple_of(2) { "L" } else { "R" }),
            name: (*name).into(),
            side: sides[(i % 2) as usize].into(),
            class: "Carries load: part of the sill box".into(),
            state: "Looked: bad, holed".into(),
            mark_svg: hatched.clone(),
            entries: vec![
                entry(
                    10 + i * 9,
                    "Look by tap and probe: bad, thin",
                    "Skin moves under the thumb from 300 to 900 mm behind the front end.",
                    true,
                ),
                entry(
                    12 + i * 9,
                    "Look, wing or plate off: bad, holed",
                    "Hole 40 x 25 mm at the splash plate.\nRust jacking between skin and membrane.",
                    false,
                ),
                entry(15 + i * 9, "Opened and found: holed", "", false),
            ],
            readings: (0..3).map(|n| reading(13 + i * 9 + n, "Wall left", "0.55", "mm")).collect(),
            photographs: (1..=photographs)
                .filter(|n| n % 5 == i)
                .map(|n| photo(n, &format!("{name}, {}", sides[(i % 2) as usize])))
                .collect::<Result<_, _>>()?,
        });
    }
    let angles = [
        ("-15\u{b0}", ""),
        ("15\u{b0}", "face"),
        ("25\u{b0}", ""),
        ("45\u{b0}", "flash"),
        ("75\u{b0}", ""),
        ("110\u{b0}", "flop"),
    ];
    let lights = ["Overcast day, D65", "Lamp A, filament", "Shop tube, FL11"];
    let shade = |n: usize, light: usize| -> [u8; 3] {
        let f = 1.0 - n as f64 * 0.13;
        [(90.0 * f) as u8 + light as u8 * 5, (145.0 * f * f) as u8 + 15, (205.0 * f) as u8 + 10]
    };
    let colour = |name: &str| ColourPage {
        name: name.into(),
        when: when(8),
        who: "Painter".into(),
        instrument: "Six-angle spectrophotometer, the supplier's".into(),
        lights: lights
            .iter()
            .enumerate()
            .map(|(l, light)| LightRow {
                light: (*light).into(),
                swatches: angles
                    .iter()
                    .enumerate()
                    .map(|(n, (angle, place))| Swatch {
                        angle: (*angle).into(),
                        place: (*place).into(),
                        srgb: shade(n, l),
                        outside: n == 5,
                        lab: [60.1 - 7.0 * n as f64, -4.0 + 3.3 * n as f64, -38.0 + 2.5 * n as f64],
                    })
                    .collect(),
            })
            .collect(),
        travel: vec![
            "Lightness falls from 60.1 at the face to 25.1 at the flop.".into(),
            "Hue turns by 34 degrees, from blue towards violet.".into(),
        ],
        warnings: vec!["At 110\u{b0} the instrument's repeat was 0.4, twice its usual.".into()],
    };
    let comparison = Comparison {
        left: "Donor, left door inside".into(),
        right: "Wish, violet taken out".into(),
        lights: lights
            .iter()
            .enumerate()
            .map(|(l, light)| PairRow {
                light: (*light).into(),
                pairs: angles
                    .iter()
                    .enumerate()
                    .map(|(n, (angle, place))| Pair {
                        angle: (*angle).into(),
                        place: (*place).into(),
                        left: shade(n, l),
                        right: shade(n.saturating_sub(usize::from(n > 2)), l),
                        de00: 0.1 + (n * n) as f64 * 0.7,
                    })
                    .collect(),
            })
            .collect(),
        note: String::new(),
    };
    let check = |seq: u64, film: bool| CheckRow {
        seq,
        when: when(seq),
        who: "Painter".into(),
        what: if film { "Film" } else { "Climate" }.into(),
        place: if film { "Left door skin" } else { "Epoxy primer" }.into(),
        figures: if film {
            "mean 84 \u{b5}m of 10 readings, nominal 80 \u{b5}m"
        } else {
            "air 18.0 \u{b0}C, humidity 70 %, panel 15.0 \u{b0}C, dew point 12.5 \u{b0}C"
        }
        .into(),
        answer: if film { "Accepted" } else { "Not yet" }.into(),
        why: if film {
            "No reading is under 64 \u{b5}m and the mean is over nominal."
        } else {
            "The panel is 2.5 above the dew point; at least 3 is wanted."
        }
        .into(),
        superseded_by: None,
    };
    Ok(DossierView {
        title: "Grey two-door".into(),
        facts: vec![
            fact("Body", "Two-door closed body, 1967"),
            fact("Climate", "Salted roads"),
            fact("Kept", "Dry garage since 1998"),
            fact("Options", "Covered roof, no sunroof"),
            fact("Aim", "Fine driver"),
        ],
        says: "71 of 124 zones have not been looked at; both sills are holed inside.".into(),
        stage: "Bare-metal survey".into(),
        printed_at: "25 Nov 2026, 10:14 (Europe/London)".into(),
        printed_utc: jiff::civil::date(2026, 11, 25).at(10, 14, 0, 0),
        head_hash: head.into(),
        count: 412,
        intact: Ok(()),
        invented: true,
        figures: vec![
            fact("Not looked", "71 of 124"),
            fact("Looked: clear", "29"),
            fact("Looked: bad", "21"),
            fact("Made good", "3"),
            fact("Questions open", "1 of 3"),
        ],
        waits: vec![
            "Question 3: How far shall we go with the inner sill, right? Answer wanted by 2 December 2026.".into(),
            "Work on 3 places waits; nothing is cut there until the owner has chosen.".into(),
        ],
        legend: vec![
            LegendRow { mark_svg: mark("none", "5 3"), words: "not looked".into() },
            LegendRow { mark_svg: mark("none", "none"), words: "looked: clear".into() },
            LegendRow { mark_svg: hatched.clone(), words: "looked: bad, thin".into() },
            LegendRow { mark_svg: mark("#1B3A63", "none"), words: "opened and made good".into() },
        ],
        maps: outlines()?,
        zones,
        unplaced: vec![photo(901, "no zone given")?],
        decided: None,
        colours: vec![colour("Donor, left door inside")],
        comparisons: vec![comparison],
        checks: vec![check(300, false), check(311, true)],
        questions: owner::questions(head),
        wrote: vec![entry(399, "Wrote", "Please telephone in the evening, not before six.", false)],
        ranges: owner::ranges(),
        no_range: String::new(),
        agreed_h: Some(900.0),
        reports: owner::reports(),
        not_opened: (0..34)
            .map(|n| NotOpened {
                name: ["C-post, lower", "Rear leg", "Roof gutter", "Quarter pocket"][n % 4].into(),
                side: sides[n / 4 % 2].into(),
                through: "rear seat trim, or an 8 mm hole from the wheel arch".into(),
                last_look: if n % 3 == 0 { "could not be seen, 12 Nov, Bench A".into() } else { String::new() },
            })
            .collect(),
        record: (1..=412)
            .map(|seq| RecordRow {
                seq,
                when: when(seq),
                who: who[(seq % 4) as usize].into(),
                what: "Look: outer sill skin, left: bad, thin".into(),
                hash: format!("{:04x} {:04x} {:04x}", seq * 40_503 % 65_536, seq * 9_001 % 65_536, seq * 77 % 65_536),
                superseded_by: seq.is_multiple_of(40).then_some(seq + 1),
            })
            .collect(),
        cautions: vec![
            fact("Welding near fuel", "Take tank, lines and filler out of the car and air the space before any heat."),
            fact("Two-pack paint", "Isocyanate can sensitise for life. Air-fed mask; ask those licensed for it."),
        ],
    })
}
