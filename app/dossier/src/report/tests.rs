//! What the one page of a report holds, whatever was typed.

use std::sync::Arc;

use typst::layout::{Frame, FrameItem};

use super::*;

const SVG: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='900' height='340'><path d='M0 0H200V80Z'/></svg>";

fn photo(number: u64, text: impl Fn(&str) -> String) -> Photo {
    Photo {
        jpeg: jpeg(),
        number,
        place: text("photo place"),
        caption: text("photo caption"),
        stage: text("photo stage"),
        when: text("photo when"),
        who: String::new(),
        mark: String::new(),
        hash: String::new(),
        superseded_by: None,
    }
}

fn jpeg() -> Arc<[u8]> {
    let picture = image::GrayImage::from_pixel(64, 48, image::Luma([90]));
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut bytes).encode_image(&picture).expect("a JPEG can be made");
    bytes.into()
}

/// A report in which every text is made by `text` from its own name, with so many lines and photographs.
fn report(lines: usize, photographs: u64, text: impl Fn(&str) -> String) -> ReportView {
    let part = |name: &str| (0..lines).map(|n| text(&format!("{name} {n}"))).collect::<Vec<_>>();
    ReportView {
        title: text("car title"),
        period: text("period"),
        days: text("days"),
        says: text("says"),
        done: part("done"),
        found: part("found"),
        changed: part("changed"),
        need: part("need"),
        need_by: text("wanted by"),
        next: part("next"),
        range: text("range"),
        range_svg: SVG.into(),
        agreed: text("agreed"),
        photographs: (1..=photographs).map(|number| photo(number, &text)).collect(),
        photographs_left_out: 0,
        maps: vec![OutlineMap { caption: text("map caption"), svg: SVG.into() }; 2],
        stage: text("stage"),
        head_hash: "0123456789abcdef".repeat(4),
        count: 4321,
        as_of: text("as of"),
        as_of_utc: jiff::civil::date(2026, 11, 24).at(16, 40, 0, 0),
        invented: true,
    }
}

/// The words of every page.
fn set(view: &ReportView) -> Vec<String> {
    let office = world::Office::report(values::of_report(view));
    let document = typst::compile(&office).output.expect("the sheet can be set");
    typst_pdf::pdf(&document, &typst_pdf::PdfOptions::default()).expect("the sheet can be written");
    let pages = document.pages().iter().map(|page| {
        let mut text = String::new();
        read(&page.frame, &mut text);
        squeezed(&text)
    });
    pages.collect()
}

fn read(frame: &Frame, out: &mut String) {
    for (_, item) in frame.items() {
        match item {
            FrameItem::Group(group) => read(&group.frame, out),
            FrameItem::Text(text) => out.push_str(&text.text),
            _ => {}
        }
    }
}

fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && *c != '\u{200b}').collect()
}

#[track_caller]
fn has(pages: &[String], words: &str) {
    assert!(pages.concat().contains(&squeezed(words)), "\"{words}\" is not in: {}", pages.concat());
}

#[test]
fn everything_of_a_usual_report_stands_on_its_page() {
    let pages = set(&report(3, 6, str::to_owned));
    assert_eq!(pages.len(), 1);
    for words in [
        "car title",
        "period",
        "days",
        "says",
        "done 2",
        "found 0",
        "changed 1",
        "need 2",
        "Need your answer by wanted by",
        "next 2",
        "range",
        "agreed",
        "photo place",
        "photo caption",
        "photo stage",
        "photo when",
        "stage",
        "as of",
        "Invented car",
        "Invented data.",
        "4321 entries",
        "Done",
        "Found",
        "Changed range",
        "Next",
        "1 of 1",
    ] {
        has(&pages, words);
    }
    // The whole head, so that the page can be checked against the record.
    has(&pages, &"0123456789abcdef".repeat(4));
}

#[test]
fn an_empty_report_says_so_under_every_heading() {
    let view = ReportView { need_by: String::new(), ..report(0, 0, |_| String::new()) };
    let pages = set(&ReportView { invented: false, maps: vec![], agreed: String::new(), ..view });
    assert_eq!(pages.len(), 1);
    for words in [
        "Nothing was finished in these days",
        "Nothing new was found",
        "Nothing moved it",
        "Need your answer by",
        "No question is open",
        "Not planned yet",
    ] {
        has(&pages, words);
    }
    assert!(!pages.concat().contains("Invented"));
}

#[test]
fn whatever_is_typed_it_stays_one_page_and_says_what_it_leaves_out() {
    let long = "The sill is worse than it was thought to be. ".repeat(9);
    let wide = "W".repeat(400);
    let foreign = "\u{8eca}\u{4f53}".repeat(200);
    for text in [&long, &wide, &foreign] {
        for (lines, photographs) in [(1, 0), (30, 0), (5, 6), (30, 12)] {
            let pages = set(&report(lines, photographs, |_| text.clone()));
            assert_eq!(pages.len(), 1, "{lines} lines, {photographs} photographs of {text}");
            has(&pages, "Head of the record it was drawn from");
            if lines == 30 {
                has(&pages, "more lines stand in the record");
                has(&pages, "[...] more in the record");
            }
            if photographs == 12 {
                has(&pages, "6 more photographs stand in the record");
            }
        }
    }
}

#[test]
fn short_lines_are_not_shortened_for_want_of_room() {
    // The most that a draft holds is eight lines under "done" and "found"; five under each is more than usual.
    let said = |name: &str| match name.chars().last() {
        Some('0'..='9') => format!("{name}, about a place on the left side and what was done there"),
        _ => name.to_owned(),
    };
    let pages = set(&report(5, 6, said));
    assert_eq!(pages.len(), 1);
    assert!(!pages.concat().contains("intherecord."), "{pages:?}");
    has(&pages, "next 4");
}

#[test]
fn what_was_typed_is_never_markup() {
    for text in ["#panic(1) *b* _i_ $x$ `r` <a> @b // c [k] {l}", "#", "\\", "*", "```", "]", "\"", "~---"] {
        let pages = set(&report(2, 1, |_| text.to_owned()));
        let found = pages.concat().matches(&squeezed(text)).count();
        assert!(found >= 15, "\"{text}\" stands {found} times only");
    }
}

#[test]
fn a_missing_photograph_or_drawing_costs_words_and_not_the_page() {
    let mut view = report(2, 3, str::to_owned);
    view.photographs[1].jpeg = Arc::from(&b""[..]);
    view.photographs[2].jpeg = Arc::from(&b"GIF89a"[..]);
    view.maps[0].svg = "<svg".into();
    view.range_svg = String::new();
    let pages = set(&view);
    assert_eq!(pages.len(), 1);
    assert_eq!(pages.concat().matches("Thisphotographcannotbeshown").count(), 2);
    has(&pages, "drawing missing or damaged");
}

#[test]
fn the_same_view_gives_the_same_bytes() {
    let view = report(2, 2, str::to_owned);
    let pdf = render_report(&view).expect("renders");
    assert!(pdf.starts_with(b"%PDF-"));
    assert_eq!(pdf, render_report(&view).expect("renders"));
    let later = ReportView { count: 4322, ..report(2, 2, str::to_owned) };
    assert_ne!(pdf, render_report(&later).expect("renders"));
}

#[test]
fn no_claim_about_the_car_is_printed() {
    let all = set(&report(2, 2, str::to_owned)).concat().to_lowercase();
    for word in ["safe", "approved", "roadworthy"] {
        assert!(!all.contains(word), "{word}");
    }
}
