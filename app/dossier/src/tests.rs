//! What a dossier holds, whatever the car and whatever was typed.

use std::sync::Arc;

use job::question::RangeSaid;
use typst::layout::{Frame, FrameItem};

use super::*;

/// The words of every page, read from the set document, and the finished file.
fn set(view: &DossierView) -> (Vec<String>, Vec<u8>) {
    let office = world::Office::new(values::of(view));
    let document = typst::compile(&office).output.expect("the sheets can be set");
    let pdf = typst_pdf::pdf(&document, &options(String::new(), view.printed_utc)).expect("the sheets can be written");
    let pages = document
        .pages()
        .iter()
        .map(|page| {
            let mut text = String::new();
            read(&page.frame, &mut text);
            text
        })
        .collect();
    (pages, pdf)
}

fn read(frame: &Frame, out: &mut String) {
    for (_, item) in frame.items() {
        match item {
            FrameItem::Group(group) => read(&group.frame, out),
            FrameItem::Text(text) => {
                out.push_str(&text.text);
                out.push('\n');
            }
            _ => {}
        }
    }
}

/// Words without the blanks, line ends and places to break that setting moves about.
fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && *c != '\u{200b}').collect()
}

#[track_caller]
fn has(pages: &[String], words: &str) {
    let all = squeezed(&pages.concat());
    assert!(all.contains(&squeezed(words)), "\"{words}\" is not in the dossier:\n{}", pages.concat());
}

fn empty() -> DossierView {
    DossierView {
        title: String::new(),
        facts: vec![],
        says: String::new(),
        stage: String::new(),
        printed_at: String::new(),
        printed_utc: jiff::civil::date(2026, 11, 25).at(10, 14, 0, 0),
        head_hash: String::new(),
        count: 0,
        intact: Ok(()),
        invented: false,
        figures: vec![],
        waits: vec![],
        legend: vec![],
        maps: vec![],
        zones: vec![],
        unplaced: vec![],
        decided: None,
        colours: vec![],
        comparisons: vec![],
        checks: vec![],
        questions: vec![],
        wrote: vec![],
        ranges: vec![],
        no_range: String::new(),
        agreed_h: None,
        reports: vec![],
        not_opened: vec![],
        record: vec![],
        cautions: vec![],
    }
}

const SVG: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='200' height='80'><path d='M0 0H200V80Z'/></svg>";

/// A white that mirrors nothing, on the panel.
fn panel(words: String) -> PanelPicture {
    let appearance = (job::colour::preview::Appearance::diffuser(), "White".to_owned());
    let painted = job::paintwork::preview::painted(&appearance, job::colour::preview::Scene::Overcast);
    PanelPicture { painted: Arc::new(painted), turn_deg: 0.0, words }
}

/// A car in which every text is made by `word` from its own name.
fn full(word: impl Fn(&str) -> String) -> DossierView {
    let w = |name: &str| word(name);
    let fact = |name: &str| Fact { label: w(&format!("{name} label")), words: w(&format!("{name} words")) };
    let photo = |number: u64| Photo {
        jpeg: jpeg(number as u8),
        number,
        place: w("photo place"),
        caption: w("photo caption"),
        stage: w("photo stage"),
        when: w("photo when"),
        who: w("photo who"),
        mark: w("photo mark"),
        hash: w("photo hash"),
        superseded_by: None,
    };
    let wrote = |name: &str| Entry {
        seq: 15,
        when: w(&format!("{name} when")),
        who: w(&format!("{name} who")),
        what: w(&format!("{name} what")),
        note: w(&format!("{name} note")),
        superseded_by: None,
    };
    DossierView {
        title: w("car title"),
        facts: vec![fact("fact")],
        says: w("says this"),
        stage: w("car stage"),
        printed_at: w("printed at"),
        head_hash: "0123456789abcdef".repeat(4),
        count: 7,
        figures: vec![fact("figure")],
        waits: vec![w("waits line")],
        legend: vec![LegendRow { mark_svg: SVG.into(), words: w("legend words") }],
        maps: vec![OutlineMap { caption: w("map caption"), svg: SVG.into() }],
        zones: vec![ZonePage {
            id: w("zone id"),
            name: w("zone name"),
            side: w("zone side"),
            class: w("zone class"),
            state: w("zone state"),
            mark_svg: SVG.into(),
            entries: vec![Entry {
                seq: 1,
                when: w("entry when"),
                who: w("entry who"),
                what: w("entry what"),
                note: w("entry note"),
                superseded_by: Some(6),
            }],
            readings: vec![ReadingRow {
                seq: 2,
                when: w("reading when"),
                who: w("reading who"),
                quantity: w("reading quantity"),
                value: w("reading value"),
                unit: w("reading unit"),
                instrument: w("reading instrument"),
                precision: w("reading precision"),
                limit: w("reading limit"),
                limit_source: w("reading source"),
                place: w("reading place"),
                superseded_by: None,
            }],
            photographs: vec![photo(3)],
        }],
        unplaced: vec![photo(4)],
        decided: Some(DecidedPage {
            says: w("decided says"),
            facts: vec![fact("decided")],
            pictures: vec![panel(w("panel words"))],
            no_picture: w("no picture"),
            lines: vec![w("decided line")],
            warnings: vec![w("decided warning")],
        }),
        colours: vec![ColourPage {
            name: w("colour name"),
            when: w("colour when"),
            who: w("colour who"),
            instrument: w("colour instrument"),
            lights: vec![LightRow {
                light: w("colour light"),
                swatches: vec![Swatch {
                    angle: w("swatch angle"),
                    place: w("swatch place"),
                    srgb: [10, 20, 30],
                    outside: true,
                    lab: [41.23, -7.06, f64::NAN],
                }],
            }],
            travel: vec![w("colour travel")],
            warnings: vec![w("colour warning")],
        }],
        comparisons: vec![Comparison {
            left: w("left paint"),
            right: w("right paint"),
            lights: vec![PairRow {
                light: w("pair light"),
                pairs: vec![Pair {
                    angle: w("pair angle"),
                    place: w("pair place"),
                    left: [0, 0, 0],
                    right: [255, 255, 255],
                    de00: 12.34,
                }],
            }],
            note: w("pair note"),
        }],
        checks: vec![CheckRow {
            seq: 5,
            when: w("check when"),
            who: w("check who"),
            what: w("check what"),
            place: w("check place"),
            figures: w("check figures"),
            answer: w("check answer"),
            why: w("check why"),
            superseded_by: None,
        }],
        questions: vec![QuestionPage {
            number: 1,
            ask: w("question ask"),
            standing: w("question standing"),
            open: true,
            versions: vec![QuestionVersion { sent: false, ask: w("unsent words"), ..version(w) }, version(w)],
            answers: vec![AnswerRow {
                seq: 13,
                when: w("answer when"),
                who: w("answer who"),
                way: w("answer way"),
                choice: w("answer choice"),
                words: w("answer words"),
                version: 12,
                range: w("answer range"),
                money: vec![w("answer money")],
                head_hash: "fedcba9876543210".repeat(4),
                count: 1234,
                standing: w("answer standing"),
            }],
            wrote: vec![wrote("besides")],
        }],
        wrote: vec![wrote("message")],
        ranges: vec![RangeRow {
            seq: Some(14),
            when: w("range when"),
            told: w("range told"),
            range: RangeSaid { p10_h: 611.0, p50_h: 722.0, p80_h: 833.0, p95_h: 944.0 },
            superseded_by: None,
        }],
        no_range: w("no range"),
        agreed_h: Some(955.0),
        reports: vec![ReportRow {
            seq: 14,
            when: w("report when"),
            who: w("report who"),
            days: w("report days"),
            says: w("report says"),
            pdf: w("report pdf"),
            superseded_by: None,
        }],
        not_opened: vec![NotOpened {
            name: w("closed name"),
            side: w("closed side"),
            through: w("closed through"),
            last_look: w("closed look"),
        }],
        record: vec![RecordRow {
            seq: 6,
            when: w("record when"),
            who: w("record who"),
            what: w("record what"),
            hash: w("record hash"),
            superseded_by: None,
        }],
        cautions: vec![fact("caution")],
        ..empty()
    }
}

fn version(w: impl Fn(&str) -> String) -> QuestionVersion {
    QuestionVersion {
        seq: 12,
        when: w("version when"),
        who: w("version who"),
        sent: true,
        ask: w("version ask"),
        places: w("version places"),
        found: w("version found"),
        photographs: w("version photographs"),
        options: vec![OptionRow {
            title: w("option title"),
            hours: w("option hours"),
            means: w("option means"),
            risks: w("option risks"),
        }],
        by: w("version by"),
        waits: vec![w("version waits")],
        serves: vec![w("version serves")],
        superseded_by: None,
    }
}

fn jpeg(shade: u8) -> Arc<[u8]> {
    let picture = image::GrayImage::from_pixel(64, 48, image::Luma([shade]));
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut bytes).encode_image(&picture).expect("a JPEG can be made");
    bytes.into()
}

/// Every text of `full`, so that one that is forgotten on a sheet fails here.
const TEXTS: &[&str] = &[
    "car title",
    "fact label",
    "fact words",
    "says this",
    "car stage",
    "printed at",
    "figure label",
    "figure words",
    "legend words",
    "map caption",
    "zone id",
    "zone name",
    "zone side",
    "zone class",
    "zone state",
    "entry when",
    "entry who",
    "entry what",
    "entry note",
    "reading when",
    "reading who",
    "reading quantity",
    "reading value",
    "reading unit",
    "reading instrument",
    "reading precision",
    "reading limit",
    "reading source",
    "reading place",
    "photo place",
    "photo caption",
    "photo stage",
    "photo when",
    "photo who",
    "photo mark",
    "photo hash",
    "colour name",
    "colour when",
    "colour who",
    "colour instrument",
    "colour light",
    "swatch angle",
    "swatch place",
    "colour travel",
    "colour warning",
    "left paint",
    "right paint",
    "pair light",
    "pair angle",
    "pair place",
    "pair note",
    "check when",
    "check who",
    "check what",
    "check place",
    "check figures",
    "check answer",
    "check why",
    "waits line",
    "question ask",
    "question standing",
    "version when",
    "version who",
    "version ask",
    "version places",
    "version found",
    "version photographs",
    "option title",
    "option hours",
    "option means",
    "option risks",
    "version by",
    "version waits",
    "version serves",
    "decided says",
    "decided label",
    "decided words",
    "panel words",
    "no picture",
    "decided line",
    "decided warning",
    "answer when",
    "answer who",
    "answer way",
    "answer choice",
    "answer words",
    "answer range",
    "answer money",
    "answer standing",
    "besides when",
    "besides who",
    "besides what",
    "besides note",
    "message when",
    "message who",
    "message what",
    "message note",
    "range when",
    "range told",
    "no range",
    "report when",
    "report who",
    "report days",
    "report says",
    "report pdf",
    "closed name",
    "closed side",
    "closed through",
    "closed look",
    "record when",
    "record who",
    "record what",
    "record hash",
    "caution label",
    "caution words",
];

#[test]
fn every_text_of_the_view_is_printed() {
    let (pages, pdf) = set(&full(str::to_owned));
    assert!(pdf.starts_with(b"%PDF-"));
    for text in TEXTS {
        has(&pages, text);
    }
    for text in ["41.2", "\u{2212}7.1", "none", "12.3", "superseded", "Not a proof: spray a card", "7 entries"] {
        has(&pages, text);
    }
    // The command can be copied from the page as it stands.
    assert!(pages.concat().contains(&format!("--head {}", "0123456789abcdef".repeat(4))));
    has(&pages, "0123 4567 89ab cdef 0123 4567 89ab cdef");
    // What was shown with an answer: how long the record was, and its head.
    has(&pages, "1234 entries");
    has(&pages, "fedc ba98 7654 3210 fedc ba98 7654 3210");
    for hours in ["611 h", "722 h", "833 h", "944 h", "the hours agreed with the owner, 955 hours"] {
        has(&pages, hours);
    }
}

#[test]
fn every_page_is_numbered_and_carries_the_head() {
    let (pages, _) = set(&full(str::to_owned));
    for (i, page) in pages.iter().enumerate() {
        let number = squeezed(&format!("{} of {}", i + 1, pages.len()));
        assert!(squeezed(page).contains(&number), "page {} has no \"{number}\":\n{page}", i + 1);
        assert!(squeezed(page).contains("0123456789abcdef"), "page {} lacks the head", i + 1);
    }
}

#[test]
fn what_was_typed_is_never_markup() {
    let hostile = [
        "#panic(1) #import \"x\": * #sys.inputs *b* _i_ $x^2$ `r` \\ <a> @b // c /* d */ = h - i + j [k] {l} ~ --- ...",
        "#",
        "\\",
        "*",
        "$",
        "`",
        "```",
        "]",
        "\"",
        "https://example.invalid/#x",
        "'); drop table",
    ];
    for text in hostile {
        let (pages, _) = set(&full(|_| text.to_owned()));
        let found = squeezed(&pages.concat()).matches(&squeezed(text)).count();
        assert!(found >= TEXTS.len() / 2, "\"{text}\" stands {found} times only");
    }
}

#[test]
fn any_writing_can_be_printed_and_what_cannot_is_said() {
    let writings = [
        "\u{5e9}\u{5dc}\u{5d5}\u{5dd} \u{5e2}\u{5d5}\u{5dc}\u{5dd} 12",
        "\u{645}\u{631}\u{62d}\u{628}\u{627} 12",
        "\u{7dda} \u{8eca}\u{4f53} \u{5857}\u{88c5}",
        "\u{1f697}\u{200d}\u{1f527}",
        "a\u{301}\u{302}\u{303}\u{304}\u{305}",
        "\u{202e}desrever\u{2066}",
        "\u{0}\u{1}\u{7f}\u{85}",
        "one\r\ntwo\n\n\nfive\ttab",
        "   ",
    ];
    for text in writings {
        let (pages, _) = set(&full(|_| text.to_owned()));
        let said = squeezed(&pages.concat()).contains("Charactersnotprinted");
        assert_eq!(said, matches!(text.chars().next(), Some('\u{7dda}' | '\u{1f697}')), "{text:?}");
    }
}

#[test]
fn very_long_words_stay_on_the_sheet() {
    let long = "W".repeat(600);
    let office = world::Office::new(values::of(&full(|_| long.clone())));
    let document = typst::compile(&office).output.expect("the sheets can be set");
    typst_pdf::pdf(&document, &PdfOptions::default()).expect("the sheets can be written");
    for (i, page) in document.pages().iter().enumerate() {
        let width_pt = page.frame.width().to_pt();
        let (right_pt, words) = right_edge(&page.frame, 0.0, width_pt);
        assert!(right_pt <= width_pt - 28.0, "page {}: \"{words}\" reaches {right_pt} of {width_pt} pt", i + 1);
    }
}

/// How far to the right the words of a frame reach, in pt, and which; a clipped group reaches no further
/// than itself.
fn right_edge(frame: &Frame, x_pt: f64, within_pt: f64) -> (f64, String) {
    let reach = frame.items().map(|(at, item)| {
        let x_pt = x_pt + at.x.to_pt();
        match item {
            FrameItem::Group(group) => {
                let clip_pt = group.clip.as_ref().map_or(within_pt, |_| x_pt + group.frame.width().to_pt());
                right_edge(&group.frame, x_pt, within_pt.min(clip_pt))
            }
            // The letters in the border stand outside the frame on purpose.
            FrameItem::Text(text) if text.text.chars().count() > 1 => {
                ((x_pt + text.width().to_pt()).min(within_pt), text.text.to_string())
            }
            _ => (0.0, String::new()),
        }
    });
    reach.fold((0.0, String::new()), |far, one| if one.0 > far.0 { one } else { far })
}

#[test]
fn the_same_view_gives_the_same_bytes() {
    let view = full(str::to_owned);
    assert_eq!(render(&view).expect("renders"), render(&view).expect("renders"));
    let later = DossierView { count: 8, ..full(str::to_owned) };
    assert_ne!(render(&view).expect("renders"), render(&later).expect("renders"));
}

#[test]
fn an_empty_car_still_has_its_sheets() {
    let (pages, _) = set(&empty());
    for words in [
        "Nothing has been entered about any zone",
        "Every zone that hides something was opened",
        "The record has no entries",
    ] {
        has(&pages, words);
    }
    assert!(!squeezed(&pages.concat()).contains("Invented"));
}

#[test]
fn a_broken_record_and_an_invented_car_are_said_on_the_cover() {
    let view = DossierView { intact: Err("entry 5 was altered".into()), invented: true, ..full(str::to_owned) };
    let (pages, _) = set(&view);
    has(&pages[..1], "The record is not intact. entry 5 was altered");
    has(&pages[..1], "Invented, for demonstration");
    assert!(pages.iter().all(|page| squeezed(page).contains("Inventeddata.")));
}

#[test]
fn a_draft_is_named_and_not_shown() {
    let (pages, _) = set(&full(str::to_owned));
    has(&pages, "Version 1 of 2: a draft");
    has(&pages, "Version 2 of 2, as the owner saw it");
    assert!(!squeezed(&pages.concat()).contains("unsentwords"));
    assert_eq!(squeezed(&pages.concat()).matches("versionfound").count(), 1);
}

#[test]
fn many_things_that_wait_leave_the_cover_on_one_page() {
    let long = "A rather long question about a place at the left sill, with a reason. ".repeat(6);
    let view = DossierView { waits: vec![long; 40], ..full(str::to_owned) };
    let (pages, _) = set(&view);
    has(&pages[..1], "36 more stand under Questions and answers");
    has(&pages[..1], "Head of the record");
    assert!(squeezed(&pages[1]).contains("Contents"), "{}", pages[1]);
}

#[test]
fn a_damaged_picture_costs_a_box_and_not_the_dossier() {
    let mut view = full(str::to_owned);
    let good = jpeg(7);
    let cut: Arc<[u8]> = good[..good.len() / 3].into();
    let mut soup = good.to_vec();
    for byte in soup.iter_mut().skip(160).step_by(5) {
        *byte = 0xff;
    }
    for jpeg in [Arc::from(&b""[..]), Arc::from(&b"GIF89a"[..]), cut, soup.into(), vec![0; MAX_PHOTO_BYTES + 1].into()]
    {
        let mut photo = view.unplaced[0].clone();
        photo.jpeg = jpeg;
        view.unplaced.push(photo);
    }
    view.maps.push(OutlineMap { caption: "no drawing".into(), svg: "<svg".into() });
    let (pages, _) = set(&view);
    let boxes = squeezed(&pages.concat()).matches("picturemissingordamaged").count();
    assert!((4..=5).contains(&boxes), "{boxes} boxes");
    has(&pages, "drawing missing or damaged");
}

#[test]
fn more_entries_take_more_pages_and_what_passes_a_limit_is_said() {
    let mut view = full(str::to_owned);
    let few = set(&view).0.len();
    view.record = vec![view.record[0].clone(); 300];
    let more = set(&view).0.len();
    assert!(more > few + 3, "{few} pages, then {more}");
    view.unplaced = vec![view.unplaced[0].clone(); MAX_PHOTOGRAPHS + 5];
    // One photograph stands in a zone.
    has(&set(&view).0, "6 more photographs stand in the record and are not printed here");
}

#[test]
fn no_claim_about_the_car_is_printed() {
    let all = set(&full(str::to_owned)).0.concat().to_lowercase();
    for word in ["safe", "approved", "roadworthy"] {
        assert!(!all.contains(word), "{word}");
    }
}

/// The relative luminance of an ink named in the sheets.
fn luminance(ink: &str) -> f32 {
    let parts = include_str!("sheets/parts.typ");
    let (_, from) = parts.split_once(&format!("#let {ink} = rgb(\"")).expect("the ink is named in parts.typ");
    let colour: typst::visualize::Color = from[..7].parse().expect("a colour");
    let linear = colour.to_linear_rgb();
    0.2126 * linear.red + 0.7152 * linear.green + 0.0722 * linear.blue
}

/// WCAG 2.2, definition of contrast ratio; success criteria 1.4.3 (text, 4.5) and 1.4.11 (lines, 3).
#[test]
fn published_contrast_holds_for_every_ink_on_its_ground() {
    let contrast = |one: f32, other: f32| (one.max(other) + 0.05) / (one.min(other) + 0.05);
    let (white, black) = (1.0, 0.0);
    for ink in ["ink", "dark", "soft"] {
        assert!(contrast(luminance(ink), white) >= 4.5, "{ink}");
    }
    assert!(contrast(luminance("line-ink"), white) >= 3.0);
    assert!(contrast(luminance("grey"), black) >= 4.5);
}

/// CIE 15:2018, 8.2.1: L* = 50 is Y = ((50 + 16) / 116)^3 of white.
#[test]
fn published_ground_of_colours_is_lightness_50() {
    let lightness_50 = (66.0_f32 / 116.0).powi(3);
    // One code of eight bits is 0.4 of L* here, 0.0035 of Y; half of it is as near as a code can come.
    assert!((luminance("grey") - lightness_50).abs() < 0.0018, "{}", luminance("grey"));
}
