//! The owner's side of the invented car: questions, answers, ranges, reports.

use dossier::*;
use job::question::RangeSaid;

fn range(p10_h: f64, p50_h: f64, p80_h: f64, p95_h: f64) -> RangeSaid {
    RangeSaid { p10_h, p50_h, p80_h, p95_h }
}

fn version(seq: u64, sent: bool, ask: &str, superseded_by: Option<u64>) -> QuestionVersion {
    let option = |title: &str, hours: &str, means: &str, risks: &str| OptionRow {
        title: title.into(),
        hours: hours.into(),
        means: means.into(),
        risks: risks.into(),
    };
    QuestionVersion {
        seq,
        when: format!("{} Nov 2026, 09:{:02}", seq % 20 + 1, seq % 60),
        who: "Lead".into(),
        sent,
        ask: ask.into(),
        places: "Sill membrane, left; Inner sill, left".into(),
        found: "The sill membrane, left is rusted through over 640 by 40 mm. It is part of what carries the car. We have stopped there until you choose.".into(),
        photographs: "3, 5, 8".into(),
        options: vec![
            option(
                "A. Let in patches",
                "6 to 14 hours, likely 9",
                "Only the wasted places are cut out and new metal is let in.",
                "The metal beside each patch stays as old as it is, and every joint is a place for new rust.",
            ),
            option(
                "B. Replace a section",
                "12 to 20 hours, likely 16",
                "Cut back to sound metal and let in one larger piece.",
                "More of the original goes; fewer joints stay.",
            ),
        ],
        by: "2 December 2026".into(),
        waits: vec!["Repair of the sill membrane, left".into(), "Epoxy and every coat after it there".into()],
        serves: Vec::new(),
        superseded_by,
    }
}

/// One answered with a changed mind, one withdrawn, one open.
pub(crate) fn questions(head: &str) -> Vec<QuestionPage> {
    let answer = |seq: u64, choice: &str, words: &str, standing: &str, way: &str| AnswerRow {
        seq,
        when: format!("{} Nov 2026, 19:{:02}", seq % 20 + 1, seq % 60),
        who: "Owner".into(),
        way: way.into(),
        choice: choice.into(),
        words: words.into(),
        version: 122,
        range: "690 to 1115 hours, likely 850".into(),
        money: vec!["A: 410 to 950 EUR, likely 610".into(), "B: 820 to 1360 EUR, likely 1090".into()],
        head_hash: head.into(),
        count: seq - 1,
        standing: standing.into(),
    };
    let ask = "How far shall we go with the sill membrane, left?";
    vec![
        QuestionPage {
            number: 1,
            ask: ask.into(),
            standing: "Answered on 19 Nov 2026, 19:18: B. Replace a section.".into(),
            open: false,
            versions: vec![version(120, false, ask, Some(122)), version(122, true, ask, None)],
            answers: vec![
                answer(131, "A. Let in patches", "The cheaper one, please.", "Changed by the answer in entry 138.", "on the owner's page"),
                answer(
                    138,
                    "B. Replace a section",
                    "I have slept over it. Do it once and do it *right*.",
                    "This answer stands.",
                    "by telephone",
                ),
            ],
            wrote: vec![],
        },
        QuestionPage {
            number: 2,
            ask: "How far shall we go with the front wing, lower rear, left?".into(),
            standing: "Taken back on 20 Nov 2026, 08:00 in entry 150: a sound wing was found.".into(),
            open: false,
            versions: vec![version(144, true, "How far shall we go with the front wing, lower rear, left?", Some(150))],
            answers: vec![],
            wrote: vec![],
        },
        QuestionPage {
            number: 3,
            ask: "How far shall we go with the inner sill, right?".into(),
            standing: "Open: asked on 25 Nov 2026, 08:00, with an answer wanted by 2 December 2026, and none came. Silence is not consent: the work it names waits.".into(),
            open: true,
            versions: vec![version(390, true, "How far shall we go with the inner sill, right?", None)],
            answers: vec![],
            wrote: vec![],
        },
    ]
}

/// Four ranges that were told, and today's.
pub(crate) fn ranges() -> Vec<RangeRow> {
    let row = |seq: Option<u64>, when: &str, told: &str, range: RangeSaid, superseded_by: Option<u64>| RangeRow {
        seq,
        when: when.into(),
        told: told.into(),
        range,
        superseded_by,
    };
    vec![
        row(
            Some(88),
            "10 Nov 2026, 16:40",
            "Report, 28 October to 10 November 2026",
            range(540.0, 820.0, 980.0, 1240.0),
            None,
        ),
        row(
            Some(131),
            "12 Nov 2026, 19:11",
            "Beside the answer to question 1",
            range(670.0, 839.0, 960.0, 1150.0),
            None,
        ),
        row(
            Some(138),
            "19 Nov 2026, 19:18",
            "Beside the answer to question 1",
            range(670.0, 839.0, 960.0, 1150.0),
            None,
        ),
        row(
            Some(380),
            "24 Nov 2026, 16:40",
            "Report, 11 to 24 November 2026",
            range(690.0, 850.0, 940.0, 1115.0),
            Some(388),
        ),
        row(None, "25 Nov 2026, 10:14", "As the record stands", range(695.0, 852.0, 944.0, 1108.0), None),
    ]
}

/// Two reports, one of which was corrected.
pub(crate) fn reports() -> Vec<ReportRow> {
    let row = |seq: u64, when: &str, days: &str, says: &str, superseded_by: Option<u64>| ReportRow {
        seq,
        when: when.into(),
        who: "Lead".into(),
        days: days.into(),
        says: says.into(),
        pdf: "7f3a 91c2 e05b 44d8".into(),
        superseded_by,
    };
    vec![
        row(
            88,
            "10 Nov 2026, 16:40",
            "28 October to 10 November 2026",
            "Stripped to the metal; both sills are soft.",
            None,
        ),
        row(
            380,
            "24 Nov 2026, 16:40",
            "11 to 24 November 2026",
            "Inside of the left sill is worse than hoped; the right is clear.",
            Some(388),
        ),
    ]
}

/// A report with the pictures and outlines of the dossier.
pub(crate) fn report(of: &DossierView) -> ReportView {
    let lines = |all: &[&str]| all.iter().map(ToString::to_string).collect::<Vec<_>>();
    let photographs: Vec<Photo> = of.zones.iter().flat_map(|zone| zone.photographs.iter().cloned()).collect();
    ReportView {
        title: of.title.clone(),
        period: "Fortnight to 24 November 2026".into(),
        days: "11 to 24 November 2026".into(),
        says: "Inside of the left sill is worse than hoped; the right is clear.".into(),
        done: lines(&[
            "Headlamp bowl, left made good",
            "Right sill scoped at both ends: clear",
            "Two door skin patches welded and dressed",
        ]),
        found: lines(&["Sill membrane, left opened: holed over 640 by 40 mm", "Front wing, lower rear, left holed"]),
        changed: lines(&[
            "Metal work was 670 to 1150 hours, likely 839; it is now 690 to 1115, likely 850",
            "Sill membrane, left, opened: holed: about 24 hours more",
            "Inner sill, right, scope, existing hole: clear: about 18 hours fewer",
        ]),
        need: lines(&["Question 3: How far shall we go with the inner sill, right? Please answer by 2 December"]),
        need_by: "2 December".into(),
        next: lines(&[
            "Look into the inner sill, left, from the rear",
            "Brace the door apertures and measure again before any cut",
            "3 places wait for your answer; nothing is cut there until then",
        ]),
        range: "690 to 1115 hours, likely 850".into(),
        range_svg: range_drawing(range(690.0, 850.0, 940.0, 1115.0), Some(900.0)),
        agreed: "900 hours".into(),
        photographs_left_out: photographs.len().saturating_sub(MOST_PHOTOGRAPHS),
        photographs: (1..)
            .zip(photographs)
            .take(MOST_PHOTOGRAPHS)
            .map(|(number, photo)| Photo { number, ..photo })
            .collect(),
        maps: of.maps.iter().take(2).cloned().collect(),
        stage: of.stage.clone(),
        head_hash: of.head_hash.clone(),
        count: of.count,
        as_of: "24 Nov 2026, 16:40".into(),
        as_of_utc: jiff::civil::date(2026, 11, 24).at(16, 40, 0, 0),
        invented: of.invented,
    }
}
