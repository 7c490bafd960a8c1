//! Checks of the body data and of the drawing rules. No outside source is used: the body is invented.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::callout::TOUCH_PX;
use super::curve::{centripetal, distance, point_at, spline};
use super::outline::{bounds, contains, crosses_itself, signed_area};
use crate::car::ZoneState;
use crate::what::Severity;

use super::svg::{Mark, Palette, map_svg};
use super::*;

fn body() -> &'static Body {
    Body::of(BodyStyle::TwoDoorClosed).expect("the body data loads")
}

/// A car with every zone of the trade's list has 124; two doors instead of four take away six, the soft-top well one.
const INSTANCES: usize = 117;

#[test]
fn every_instance_is_there_and_can_be_reached() {
    let body = body();
    assert_eq!(body.instances().len(), INSTANCES);
    assert_eq!(body.present(&[]).len(), INSTANCES - 1);
    assert_eq!(body.present(&[BodyOption::Sunroof]).len(), INSTANCES);
    let zones: BTreeSet<&str> = body.instances().iter().map(|i| i.zone.as_str()).collect();
    // All of Z01..Z66 but the soft-top well, which only open bodies have.
    assert_eq!(zones.len(), 65);
    assert!(!zones.contains("Z62"));
    for i in body.instances() {
        let (view, u, v) = body.centre(&i.id).expect("drawn somewhere");
        assert_eq!(view.instance_at(u, v), Some(i.id.as_str()), "{} is not under its own mark in {}", i.id, view.id);
        assert!(body.instance(&i.id).is_some_and(|found| found == i));
    }
}

#[test]
fn every_instance_can_be_touched_with_a_glove() {
    let body = body();
    for i in body.instances() {
        let patch = |v: &View| v.patches.iter().any(|p| p.instance == i.id && p.room_px >= TOUCH_PX);
        let callout = |v: &View| v.callout(&i.id).is_some_and(|c| c.rect[2] >= TOUCH_PX && c.rect[3] >= TOUCH_PX);
        assert!(body.views().iter().any(|v| patch(v) || callout(v)), "{} {} is nowhere 48 px", i.id, i.label);
    }
}

#[test]
fn patches_are_sound() {
    for view in body().views() {
        for p in &view.patches {
            for ring in p.rings.iter().chain(&p.drawn) {
                assert!(!crosses_itself(ring), "{} crosses itself in {}", p.instance, view.id);
            }
            assert!(p.area_px2 > 60.0, "{} is only {:.0} px2 in {}", p.instance, p.area_px2, view.id);
            let drawn: f64 = p.drawn.iter().map(|r| signed_area(r).abs()).sum();
            assert!(
                drawn > 0.2 * p.area_px2 && drawn < p.area_px2,
                "{}: the inset leaves {drawn:.0} px2 in {}",
                p.instance,
                view.id
            );
            let b = bounds(p.rings.iter().flatten());
            assert!(
                b[0] >= 0.0 && b[1] >= 0.0 && b[2] <= view.width && b[3] <= view.height,
                "{} leaves {}",
                p.instance,
                view.id
            );
            assert!(p.room_px > 0.0, "{} has no room for a mark in {}", p.instance, view.id);
            assert!(
                contains(&p.rings, [p.anchor.0, p.anchor.1]),
                "the anchor of {} is outside it in {}",
                p.instance,
                view.id
            );
        }
    }
}

#[test]
fn callouts_and_labels_keep_their_places() {
    for view in body().views() {
        for (n, c) in view.callouts.iter().enumerate() {
            let [x, y, w, h] = c.rect;
            assert!(
                x >= 0.0 && y >= 0.0 && x + w <= view.width && y + h <= view.height,
                "{} leaves {}",
                c.instance,
                view.id
            );
            for o in view.callouts.iter().skip(n + 1) {
                let apart = x + w + 7.9 <= o.rect[0]
                    || o.rect[0] + o.rect[2] + 7.9 <= x
                    || y + h <= o.rect[1]
                    || o.rect[1] + o.rect[3] <= y;
                assert!(apart, "{} and {} overlap in {}", c.instance, o.instance, view.id);
            }
            for p in &view.patches {
                let b = bounds(p.rings.iter().flatten());
                let clear = b[2] < x || x + w < b[0] || b[3] < y || y + h < b[1];
                assert!(clear, "the call-out of {} lies on {} in {}", c.instance, p.instance, view.id);
            }
            assert!(view.patches.iter().any(|p| p.instance == c.instance));
        }
        for p in &view.patches {
            let Some(label) = &p.label else { continue };
            let (w, h) = (callout::text_width(&label.lines), callout::text_height(&label.lines));
            for (dx, dy) in [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5)] {
                assert!(
                    contains(&p.drawn, [label.x + dx * w, label.y + dy * h]),
                    "the label of {} leaves it in {}",
                    p.instance,
                    view.id
                );
            }
        }
    }
}

#[test]
fn invariant_left_and_right_are_mirror_images() {
    let body = body();
    let mirrored = |id: &str| {
        id.split_once('.').map(|(zone, place)| {
            let (side, rest) = place.split_at(1);
            format!("{zone}.{}{rest}", if side == "L" { "R" } else { "L" })
        })
    };
    for i in body.instances().iter().filter(|i| i.side != Side::Centre) {
        let other = mirrored(&i.id).expect("has a side");
        assert!(body.instance(&other).is_some(), "{other} is missing");
        for view in body.views() {
            let twin = match view.id.as_str() {
                "left" => "right",
                "right" => "left",
                "skins_left" => "skins_right",
                "skins_right" => "skins_left",
                same => same,
            };
            let twin = body.view(twin).expect("there");
            let vertical = matches!(view.id.as_str(), "above" | "below" | "inside");
            let rings = |v: &View, id: &str| -> Vec<_> {
                v.patches.iter().filter(|p| p.instance == id).flat_map(|p| p.rings.clone()).collect()
            };
            let (ours, theirs) = (rings(view, &i.id), rings(twin, &other));
            assert_eq!(ours.len(), theirs.len(), "{} in {}", i.id, view.id);
            let middle = view.at(0.0, 0.0);
            for (a, b) in ours.iter().flatten().zip(theirs.iter().flatten()) {
                let flipped = if vertical { [a[0], 2.0 * middle.1 - a[1]] } else { [view.width - a[0], a[1]] };
                assert!(distance(flipped, *b) < 1e-6, "{} in {}: {a:?} against {b:?}", i.id, view.id);
            }
        }
    }
}

#[test]
fn places_go_there_and_back() {
    for view in body().views() {
        let (u, v) = view.place(123.0, 45.0);
        let (x, y) = view.at(u, v);
        assert!((x - 123.0).abs() < 1e-9 && (y - 45.0).abs() < 1e-9);
        assert_eq!(view.instance_at(1e6, -1e6), None);
    }
    // A car without a sunroof has roof skin there.
    let above = body().view("above").expect("there");
    assert_eq!(above.instances_at(970.0, 0.0).collect::<Vec<_>>(), ["Z56", "Z52"]);
}

#[test]
fn position_words_name_the_place() {
    let name = |id: &str| body().instance(id).map(Instance::name);
    assert_eq!(name("Z01.L").as_deref(), Some("outer sill, left"));
    assert_eq!(name("Z06.RF").as_deref(), Some("jacking point, right front"));
    assert_eq!(name("Z64.LT").as_deref(), Some("belt anchorage, left, tunnel side"));
    assert_eq!(name("Z52").as_deref(), Some("roof skin"));
    assert_eq!(BodyStyle::from_id("two_door_closed"), Some(BodyStyle::TwoDoorClosed));
}

#[test]
fn the_map_is_well_formed_and_draws_every_state() {
    let body = body();
    let states: BTreeMap<String, ZoneState> = [
        ("Z01.L", ZoneState::Clear),
        ("Z47.L", ZoneState::Bad(Severity::Pitted)),
        ("Z57.L", ZoneState::Bad(Severity::Thin)),
        ("Z51.L", ZoneState::Bad(Severity::Holed)),
        ("Z50.L", ZoneState::MadeGood),
    ]
    .into_iter()
    .map(|(id, state)| (id.to_owned(), state))
    .collect();
    let view = body.view("left").expect("there");
    let map = map_svg(view, &states, &[Mark { number: 7, at_mm: (0.0, 500.0) }], &["Z12.L"], Palette::PRINT);
    for wanted in ["url(#bad1)", "url(#bad2)", "url(#bad3)", "stroke-dasharray=\"5 4\"", ">7</text>", "outer</text>"] {
        assert!(map.contains(wanted), "no {wanted}");
    }
    assert!(!map.contains("C-post"), "a hidden instance is drawn");
    assert!(!map.contains("class=") && !map.contains("style="));
    assert_eq!(map.matches("<svg").count(), map.matches("</svg>").count());
    assert_eq!(map.matches("<text").count(), map.matches("</text>").count());
    assert_eq!(map, map_svg(view, &states, &[Mark { number: 7, at_mm: (0.0, 500.0) }], &["Z12.L"], Palette::PRINT));
}

#[test]
fn invariant_curve_passes_through_its_points_and_is_smooth_there() {
    let points = [[0.0, 0.0], [10.0, 40.0], [60.0, 55.0], [75.0, 20.0], [140.0, 0.0]];
    let cubics = spline(&points, &[false, true, true, true, false], false);
    for (c, w) in cubics.iter().zip(points.windows(2)) {
        assert_eq!((c[0], c[3]), (w[0], w[1]));
    }
    for pair in cubics.windows(2) {
        // The handles on both sides of a smooth point lie on one line.
        let (a, b) = (
            [pair[0][3][0] - pair[0][2][0], pair[0][3][1] - pair[0][2][1]],
            [pair[1][1][0] - pair[1][0][0], pair[1][1][1] - pair[1][0][1]],
        );
        let cross = a[0] * b[1] - a[1] * b[0];
        assert!(cross.abs() < 1e-9 && a[0] * b[0] + a[1] * b[1] > 0.0, "a kink of {cross}");
    }
}

#[test]
fn invariant_two_corners_make_a_straight_line() {
    let cubics = spline(&[[0.0, 0.0], [30.0, 12.0]], &[false, false], false);
    for t in [0.2, 0.5, 0.9] {
        let [x, y] = point_at(&cubics[0], t);
        assert!((y - x * 0.4).abs() < 1e-12);
    }
}

#[test]
fn invariant_evenly_spaced_points_give_the_uniform_curve() {
    // With equal chords the centripetal handles are those of the plain Catmull-Rom curve: (p2 - p0) / 6.
    let c = centripetal([0.0, 0.0], [3.0, 4.0], [6.0, 0.0], [9.0, 4.0]);
    assert!(distance(c[1], [4.0, 4.0]) < 1e-12 && distance(c[2], [5.0, 0.0]) < 1e-12, "{c:?}");
}

/// The error when one text in one file is replaced.
fn broken(file: &str, from: &str, to: &str) -> BodyError {
    let f = BodyStyle::TwoDoorClosed.files();
    let change = |name: &str, text: &str| {
        if name == file {
            assert!(text.contains(from), "{from} is not in {file}");
            text.replacen(from, to, 1)
        } else {
            text.to_owned()
        }
    };
    let (points, edges, zones) =
        (change("points.csv", f.points), change("edges.csv", f.edges), change("zones.csv", f.zones));
    let (patches, views) = (change("patches.csv", f.patches), change("views.toml", f.views));
    let files = BodyFiles { points: &points, edges: &edges, zones: &zones, patches: &patches, views: &views };
    Body::read(&files).expect_err("damaged data must not load")
}

#[test]
fn damage_is_told_with_file_and_row() {
    let told = [
        broken("points.csv", "\nC2,", "\nC1,").to_string(),
        broken("points.csv", "\nC2,1252", "\nC2,12x52").to_string(),
        broken("points.csv", "\nC2,1252", "\nC2,NaN").to_string(),
        broken("points.csv", "\nC2,1252", "\nC2,1252,5").to_string(),
        broken("points.csv", "point,x_mm", "point,x_m").to_string(),
        broken("edges.csv", "~C2", "~Q2").to_string(),
        broken("edges.csv", ",silhouette,", ",outline,").to_string(),
        broken("edges.csv", "nose,left right", "nose,left up").to_string(),
        broken("zones.csv", "Z01,outer sill,L R", "Z01,outer sill,L X").to_string(),
        broken("zones.csv", "Z01,outer sill,L R", "Z01,outer sill,L L").to_string(),
        broken("patches.csv", "Z01,L,left", "Z99,L,left").to_string(),
        broken("patches.csv", "@sill_top:AF9:AO2", "@sill_top:AF9").to_string(),
        broken("patches.csv", "@sill_top:AF9:AO2", "@sill_top:AF9:C1").to_string(),
    ];
    for text in &told {
        assert!(text.contains(".csv, row "), "{text}");
    }
    assert_eq!(told[0], "points.csv, row 3: \"C1\" is defined twice");
    assert_eq!(told[1], "points.csv, row 3, x_mm: \"12x52\" is not a length in mm between -20000 and 20000");
    assert!(broken("views.toml", "width_px = 1100.0", "width_px = 1e9").to_string().starts_with("views.toml: "));
    assert!(
        broken("zones.csv", "Z01,outer sill,L R", "Z01,outer sill,L R C")
            .to_string()
            .contains("\"Z01\" is drawn in no view")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// No text makes the reader panic.
    #[test]
    fn any_text_is_read_or_refused(which in 0..5usize, text in "(?s).{0,400}") {
        let f = BodyStyle::TwoDoorClosed.files();
        let pick = |n: usize, own: &'static str| if n == which { text.clone() } else { own.to_owned() };
        let texts = [pick(0, f.points), pick(1, f.edges), pick(2, f.zones), pick(3, f.patches), pick(4, f.views)];
        let files = BodyFiles { points: &texts[0], edges: &texts[1], zones: &texts[2], patches: &texts[3], views: &texts[4] };
        prop_assert!(Body::read(&files).is_err());
    }

    /// Nor does a plausible row with wild values in it.
    #[test]
    fn any_row_is_read_or_refused(which in 0..3usize, row in "[A-Za-z0-9_.,~@:|' -]{0,120}", at in 0..60usize) {
        let f = BodyStyle::TwoDoorClosed.files();
        let with = |n: usize, own: &'static str| {
            let mut lines: Vec<&str> = own.lines().collect();
            if n == which {
                let at = at.min(lines.len() - 1);
                lines[at] = &row;
            }
            lines.join("\n")
        };
        let texts = [with(0, f.points), with(1, f.edges), with(2, f.patches)];
        let files = BodyFiles { points: &texts[0], edges: &texts[1], patches: &texts[2], ..f };
        // Either answer is right; a panic is not.
        let _ = Body::read(&files);
    }

    /// A path of known words in any order is drawn or refused.
    #[test]
    fn any_path_is_drawn_or_refused(words in prop::collection::vec(
        prop::sample::select(vec!["C1", "~C2", "SH1'", "~SH1", "@nose:C1:C3", "@sill_top:AF9:DF1", "@sill_top':DF1':AF9'", "|", "12,-30", "~5,5", "@nose:C3", "", "'", "~"]), 0..9)) {
        let f = BodyStyle::TwoDoorClosed.files();
        let path = words.join(" ");
        for view in ["left", "section"] {
            let patches = format!("{}\nZ01,L,{view},top,\"{path}\",\n", f.patches.trim_end());
            let _ = Body::read(&BodyFiles { patches: &patches, ..f });
        }
        let edges = format!("{}\nextra,left,feature,1,closed,yes,\"{}\"\n", f.edges.trim_end(), path);
        let _ = Body::read(&BodyFiles { edges: &edges, ..f });
    }
}
