//! Fortnight reports: drafted, edited, shown, kept with their printed page.

use jiff::{SignedDuration, Timestamp};
use job::ids::{CarId, EntryId, Hash};
use job::question::Report;
use job::what::What;

use crate::support::form::{self, Form};
use crate::support::{Answer, House, html};

/// The form of the next report as it is drafted, with who writes it.
async fn drafted(house: &House, car: CarId) -> Vec<(String, String)> {
    let page = house.get(&format!("/cars/{car}/reports/new")).await;
    page.says(200, &["Fortnight report", "Nothing is kept or sent yet", "Keep and send"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let mut fields = html::filled(&page.text(), "report-form");
    fields.retain(|(name, _)| name != "who");
    fields.push(("who".into(), house.lead.id.to_string()));
    fields
}

fn with(fields: &[(String, String)], name: &str, value: &str) -> Vec<(String, String)> {
    let mut fields: Vec<_> = fields.iter().filter(|(n, _)| n != name).cloned().collect();
    fields.push((name.into(), value.into()));
    fields
}

fn get<'a>(fields: &'a [(String, String)], name: &str) -> &'a str {
    fields.iter().find(|(n, _)| n == name).map_or("", |(_, value)| value)
}

async fn send(house: &House, car: CarId, what: &str, fields: &[(String, String)]) -> Answer {
    let form = Form::new().pairs(fields.iter().map(|(n, v)| (n.as_str(), v.as_str()))).text("do", what);
    house.post(&format!("/cars/{car}/reports"), form).await
}

async fn reports(house: &House, car: CarId) -> Vec<(u64, Report)> {
    let car = house.shop.car(car).await.unwrap();
    let all = car.entries().iter().filter_map(|entry| match &entry.what {
        What::Reported(report) => Some((entry.seq, report.clone())),
        _ => None,
    });
    all.collect()
}

#[tokio::test]
async fn a_report_is_drafted_edited_and_kept_with_its_page() {
    let house = House::open().await;
    let car = house.full_car("Told").await;
    let fields = drafted(&house, car).await;
    assert!(get(&fields, "done").contains("made good"), "{fields:?}");
    assert!(get(&fields, "found").contains("holed over 120 by 40 mm"), "{fields:?}");
    assert!(get(&fields, "changed").contains("first range in a report"), "{fields:?}");
    assert_eq!(fields.iter().filter(|(name, _)| name == "photographs").count(), 1);

    let fields = with(&fields, "says", "Both sills are worse than hoped.");
    let fields = with(&fields, "next", "  Look into the left sill  \n\n Two cards <b>&</b> *stars*\r\n");
    let before = house.count(car).await;
    let answer = send(&house, car, "send", &fields).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
    let (seq, report) = reports(&house, car).await.pop().unwrap();
    assert_eq!(answer.header("location"), format!("/cars/{car}/reports/{seq}?kept={seq}"));
    assert_eq!(seq, before + 1);
    assert_eq!(report.says, "Both sills are worse than hoped.");
    assert_eq!(report.next, ["Look into the left sill", "Two cards <b>&</b> *stars*"]);
    assert!(report.range.p10_h < report.range.p50_h && report.range.p50_h < report.range.p95_h);

    let page = house.get(answer.header("location")).await;
    page.says(
        200,
        &[
            "Both sills are worse than hoped.",
            "Done",
            "Found",
            "Changed range",
            "Your answer",
            "Next",
            "No question is open.",
            "Two cards <b>&</b> *stars*",
            "The page as a PDF",
            "A hole with a rule",
        ],
    );
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let pdf = house.get(&format!("/cars/{car}/reports/{seq}/report.pdf")).await;
    assert_eq!((pdf.status.as_u16(), pdf.header("content-type")), (200, "application/pdf"));
    assert!(pdf.header("content-disposition").contains(&format!("report-{}.pdf", report.to)));
    assert_eq!(Hash::of(&pdf.bytes), report.pdf, "byte for byte as it was kept");
    assert!(pdf.bytes.starts_with(b"%PDF-"));
    // The questions sheet leads there.
    let sheet = house.get(&format!("/cars/{car}/questions")).await;
    assert!(sheet.text().contains(&format!("/cars/{car}/reports/{seq}")));
    assert!(house.shop.verify(car, None).await.unwrap().intact());
}

#[tokio::test]
async fn a_report_sent_twice_is_kept_once_and_one_changed_on_the_way_back_is_not_lost() {
    let house = House::open().await;
    let car = house.full_car("Twice").await;
    let fields = drafted(&house, car).await;
    let (one, two) = tokio::join!(send(&house, car, "send", &fields), send(&house, car, "send", &fields));
    assert_eq!((one.status.as_u16(), two.status.as_u16()), (303, 303));
    let third = send(&house, car, "send", &fields).await;
    assert_eq!(one.header("location"), two.header("location"));
    assert_eq!(one.header("location"), third.header("location"));
    assert_eq!(reports(&house, car).await.len(), 1);

    let other = with(&fields, "says", "Other words, after going back.");
    assert_eq!(send(&house, car, "send", &other).await.status, 303);
    let kept = reports(&house, car).await;
    assert_eq!(kept.len(), 2);
    assert_eq!(kept[1].1.says, "Other words, after going back.");
}

#[tokio::test]
async fn what_cannot_be_kept_comes_back_as_it_was_typed() {
    let house = House::open().await;
    let car = house.full_car("Wrong").await;
    let good = with(&drafted(&house, car).await, "found", "Words that must not be lost");
    let before = house.count(car).await;
    let many = vec!["line"; 31].join("\n");
    let long = "x".repeat(401);
    for (name, value, say) in [
        ("from", "yesterday", "\"yesterday\" was typed for the first day"),
        ("to", "", "\"\" was typed for the last day"),
        ("to", "2001-01-01", "The last day comes after the first"),
        ("says", "", "Not kept yet"),
        ("done", many.as_str(), "31 lines were typed"),
        ("done", long.as_str(), "Not kept yet"),
        ("photographs", "no-id", "a photograph was chosen that is none"),
        ("photographs", "0192f3a0-0000-7000-8000-000000000000", "not in this car's record"),
        ("who", "", "nobody was picked"),
        ("who", "0192f3a0-0000-7000-8000-000000000000", "nobody was picked"),
    ] {
        let answer = send(&house, car, "send", &with(&good, name, value)).await;
        let text = html::words(&answer.text()).to_lowercase();
        assert_eq!(answer.status, 422, "{name} {value}: {text}");
        assert!(text.contains(&say.to_lowercase()), "{name} {value}: \"{say}\" is missing in {text}");
        assert!(answer.text().contains("Words that must not be lost"), "{name}");
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{name}");
        if !value.is_empty() && !["photographs", "who"].contains(&name) {
            let back = html::filled(&answer.text(), "report-form");
            assert_eq!(get(&back, name).lines().count(), value.lines().count(), "{name} comes back");
        }
        // Sent again under the same name, put right, it is kept.
        assert_eq!(get(&html::filled(&answer.text(), "report-form"), "entry"), get(&good, "entry"), "{name}");
    }
    assert_eq!(house.count(car).await, before);
    assert_eq!(send(&house, car, "send", &good).await.status, 303);
}

#[tokio::test]
async fn a_preview_shows_the_sheet_and_the_page_and_keeps_nothing() {
    let house = House::open().await;
    let car = house.full_car("Preview").await;
    let fields = with(&drafted(&house, car).await, "says", "Shown and not kept.");
    let before = house.count(car).await;
    let page = send(&house, car, "preview", &fields).await;
    page.says(200, &["As the owner will read it", "Shown and not kept.", "Changed range", "Keep and send"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let back = html::filled(&page.text(), "report-form");
    assert_eq!(get(&back, "says"), "Shown and not kept.");
    assert_eq!(get(&back, "base"), get(&fields, "base"));

    // The page that is kept later is the one that was shown, although the record has grown since.
    let shown = send(&house, car, "pdf", &fields).await;
    assert_eq!(shown.header("content-type"), "application/pdf");
    assert_eq!(house.count(car).await, before);
    house.keep(car, form::entry("looked", &house.bench).text("note", "meanwhile")).await;
    let page = send(&house, car, "preview", &fields).await;
    page.says(200, &["The record has grown by 1 entry since this was drafted"]);
    assert_eq!(send(&house, car, "send", &fields).await.status, 303);
    let (_, report) = reports(&house, car).await.pop().unwrap();
    assert_eq!(report.pdf, Hash::of(&shown.bytes));
}

#[tokio::test]
async fn other_days_are_drafted_anew_from_the_record_as_it_stands() {
    let house = House::open().await;
    let car = house.full_car("Days").await;
    let fields = with(&drafted(&house, car).await, "says", "These words give way.");
    let long_ago = with(&with(&fields, "from", "2001-01-01"), "to", "2001-01-14");
    let page = send(&house, car, "draft", &long_ago).await;
    page.says(200, &[]);
    let back = html::filled(&page.text(), "report-form");
    assert_eq!((get(&back, "from"), get(&back, "to")), ("2001-01-01", "2001-01-14"));
    assert_eq!(get(&back, "says"), "A quiet fortnight: nothing new was found.");
    assert_eq!((get(&back, "done"), get(&back, "found")), ("", ""));
    let from_address = house.get(&format!("/cars/{car}/reports/new?from=2001-01-01&to=2001-01-14")).await;
    assert_eq!(get(&html::filled(&from_address.text(), "report-form"), "to"), "2001-01-14");
    // An address that somebody mistyped is no reason to show nothing.
    house.get(&format!("/cars/{car}/reports/new?from=x&to=y")).await.says(200, &[]);
}

#[tokio::test]
async fn only_the_lead_writes_reports_and_everybody_of_the_shop_reads_them() {
    let house = House::locked().await;
    let lead = house.session(&house.lead, job::person::Role::Lead, SignedDuration::from_hours(1)).await;
    let bench = house.session(&house.bench, job::person::Role::Bench, SignedDuration::from_hours(1)).await;
    let owner = house.session(&house.owner, job::person::Role::Owner, SignedDuration::from_hours(1)).await;
    let answer = house.post_as(&lead, "/cars/new", form::car("Locked", &house.lead)).await;
    let car: CarId = answer.header("location").trim_start_matches("/cars/").parse().unwrap();
    let fields = Form::new()
        .pairs([("from", "2026-11-11"), ("to", "2026-11-24"), ("says", "A quiet fortnight."), ("done", "Parts came")])
        .text("who", house.lead.id)
        .text("entry", EntryId::fresh());
    let path = format!("/cars/{car}/reports");
    assert_eq!(house.post_as(&bench, &path, fields.clone()).await.status, 403);
    assert_eq!(house.post_as("", &path, fields.clone()).await.status, 401);
    let kept = house.post_as(&lead, &path, fields).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let page = kept.header("location").to_string();
    let pdf = format!("{}/report.pdf", page.split('?').next().unwrap());
    assert_eq!(house.get_as(&bench, &format!("{path}/new")).await.status, 403);
    for address in [&page, &pdf] {
        assert_eq!(house.get_as(&bench, address).await.status, 200, "{address}");
        assert_eq!(house.get_as(&owner, address).await.status, 403, "{address}");
        assert_eq!(house.get_as("", address).await.status, 303, "{address}");
    }
    // A report without a photograph and with one line is a page too.
    let bytes = house.get_as(&bench, &pdf).await.bytes;
    assert!(bytes.starts_with(b"%PDF-"));
}

#[tokio::test]
async fn what_is_no_report_leads_onward_in_words() {
    let house = House::open().await;
    let car = house.full_car("None").await;
    for path in ["reports/1", "reports/999", "reports/x", "reports/1/report.pdf", "reports/0"] {
        let answer = house.get(&format!("/cars/{car}/{path}")).await;
        answer.says(404, &["To the cars"]);
    }
    // An entry with a printed page that nobody has any more cannot be kept at all.
    let report = Report { pdf: Hash::of(b"nowhere"), ..blank() };
    let draft = job::shop::Draft {
        entry: EntryId::fresh(),
        base: None,
        by: house.lead.id,
        noted: None,
        corrects: None,
        keep_both: false,
        what: What::Reported(report),
    };
    assert!(house.shop.keep(car, &draft, Timestamp::now()).await.is_err());
}

fn blank() -> Report {
    Report {
        from: jiff::civil::date(2026, 11, 11),
        to: jiff::civil::date(2026, 11, 24),
        says: "Quiet.".into(),
        done: vec!["Nothing".into()],
        found: vec![],
        changed: vec![],
        need: vec![],
        next: vec![],
        photographs: vec![],
        range: job::question::RangeSaid { p10_h: 0.0, p50_h: 0.0, p80_h: 0.0, p95_h: 0.0 },
        pdf: Hash::NONE,
    }
}
