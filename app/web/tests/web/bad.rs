//! Input that is broken, hostile or too much.

use job::ids::EntryId;

use crate::support::form::{self, Form, entry};
use crate::support::{House, html, send};

#[tokio::test]
async fn a_form_that_was_cut_off_keeps_nothing() {
    let house = House::open().await;
    let car = house.car("Cut off").await;
    let path = format!("/cars/{car}/entries");
    send(&house.router, entry("photographed", &house.bench).cut_off(&path))
        .await
        .says(422, &["cut off", "Nothing was kept"]);

    assert_eq!(house.count(car).await, 1);
}

#[tokio::test]
async fn text_that_is_not_utf_8_is_refused_with_the_name_of_the_field() {
    let house = House::open().await;
    let car = house.car("Bytes").await;
    let form = entry("made_good", &house.bench).part("name=\"note\"", b"caf\xe9");
    house.keep(car, form.clone()).await.says(422, &["\"note\" is not UTF-8", "Nothing was kept"]);
    let json = house.post_json(&format!("/cars/{car}/entries"), form).await;
    assert_eq!(json.status, 422);
    assert!(json.json()["say"].as_str().is_some_and(|s| s.contains("UTF-8")));
}

#[tokio::test]
async fn a_form_has_a_limit_of_fields_and_of_text() {
    let house = House::open().await;
    let car = house.car("Much").await;
    let many = (0..500).fold(entry("looked", &house.bench), |form, n| form.text(&format!("x{n}"), "y"));
    house.keep(car, many).await.says(413, &["Nothing was kept"]);
    house.keep(car, entry("looked", &house.bench).text("note", "x".repeat(2 * 1024 * 1024))).await.says(413, &[]);
    house
        .keep(car, entry("looked", &house.bench).text("note", "x".repeat(9_000)))
        .await
        .says(422, &["9000 characters"]);
    assert_eq!(house.count(car).await, 1);
}

#[tokio::test]
async fn a_kind_or_an_identifier_that_is_none_is_refused() {
    let house = House::open().await;
    let car = house.car("Kinds").await;
    for kind in ["car_opened", "car_changed", "measured", "", "nonsense", "<script>"] {
        let form = Form::new().text("kind", kind).text("entry", EntryId::fresh()).text("who", house.bench.id);
        let answer = house.keep(car, form).await;
        answer.says(422, &["Nothing was kept"]);
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new());
    }
    let answer = house.keep(car, entry("looked", &house.bench).text("entry", "not-an-id")).await;
    answer.says(422, &["open it again"]);
    house.keep(car, entry("looked", &house.owner)).await.says(422, &["Pick who is writing"]);
    house.keep(car, entry("looked", &house.bench).text("corrects", "x")).await.says(422, &[]);
    house
        .keep(car, entry("stage_reached", &house.bench).text("stage", "finished, honest"))
        .await
        .says(422, &["Choose the stage"]);
    assert_eq!(house.count(car).await, 1);
}

#[tokio::test]
async fn a_time_that_a_device_made_up_is_left_out() {
    let house = House::open().await;
    let car = house.car("Clocks").await;
    for noted in ["yesterday", "9999-99-99T00:00:00Z", "2024-05-01T10:00:00Z", "9000-01-01T00:00:00Z", ""] {
        let answer = house.keep(car, entry("looked", &house.bench).text("noted", noted)).await;
        assert_eq!(answer.status, 303, "{noted}: {}", html::words(&answer.text()));
    }
    let folded = house.shop.car(car).await.unwrap();
    assert_eq!(folded.entry(4).unwrap().noted.map(|t| t.to_string()).as_deref(), Some("2024-05-01T10:00:00Z"));
    let now = jiff::Timestamp::now();
    let future = folded.entries().iter().filter(|e| e.when() > now).count();
    assert_eq!(future, 0, "an entry is not noted in the future");
}

const HOSTILE: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)> &amp; \u{202e}txet \u{1f697} {{7*7}}";

#[tokio::test]
async fn hostile_text_is_shown_as_text_wherever_it_is_shown() {
    let house = House::open().await;
    let mut bench = house.bench.clone();
    bench.name = "<i>B</i>\"'&".into();
    house.shop.put_person(&bench).await.unwrap();
    let car = house.car(HOSTILE).await;
    for (kind, fields) in form::KINDS {
        let mut form = entry(kind, &house.bench);
        for (name, _) in fields
            .iter()
            .filter(|(n, _)| ["note", "caption", "through", "place", "instrument_name", "limit_source"].contains(n))
        {
            form = form.text(name, HOSTILE);
        }
        let answer = house.keep(car, form).await;
        assert_eq!(answer.status, 303, "{kind}: {}", html::words(&answer.text()));
    }
    let spectra = form::spectra(&["<b>paint</b>"]);
    let measured = Form::new()
        .text("entry", EntryId::fresh())
        .text("who", house.painter.id)
        .pairs([("instrument", HOSTILE), ("note", HOSTILE)])
        .file("file", "<i>m</i>.csv", spectra);
    assert_eq!(house.post(&format!("/cars/{car}/colour"), measured).await.status, 303);
    let mut pages =
        vec!["/".to_string(), "/people".into(), format!("/cars/{car}/details"), format!("/cars/{car}/add?corrects=3")];
    pages.extend(
        ["", "/coats", "/colour", "/record", "/verify", "/zones/Z01.L", "/zones/Z02.L", "/zones/Z02.R"]
            .map(|p| format!("/cars/{car}{p}")),
    );
    pages.extend((1..=house.count(car).await).map(|seq| format!("/cars/{car}/entries/{seq}")));
    for hostile in ["<script>", "\"><b>", "' x='", "\u{202e}"] {
        let q = hostile.bytes().map(|b| format!("%{b:02x}")).collect::<String>();
        pages.push(format!("/cars/{car}/record?kind={q}&who={q}&zone={q}"));
        pages.push(format!("/cars/{car}/coats?air={q}&rh={q}&panel={q}&product={q}&area={q}&dft={q}&zone={q}&readings={q}&nominal_um={q}"));
        pages.push(format!("/cars/{car}/add?zone={q}&kind={q}"));
        pages.push(format!("/sign-in?next=/{q}"));
    }
    for path in pages {
        let answer = house.get(&path).await;
        assert_eq!(answer.status, 200, "{path}: {}", html::words(&answer.text()));
        let text = answer.text();
        assert!(
            !text.contains("<script>")
                && !text.contains("<img src=x")
                && !text.contains("<i>B")
                && !text.contains("<b>paint"),
            "{path}"
        );
        assert_eq!(html::faults(&text), Vec::<String>::new(), "{path}");
    }
    house.get(&format!("/cars/{car}/zones/Z01.L")).await.says(200, &[HOSTILE]);
    for file in ["export.zip", "dossier.pdf"] {
        let answer = house.get(&format!("/cars/{car}/{file}")).await;
        assert_eq!(answer.status, 200, "{file}: {}", answer.text());
        let name = answer.header("content-disposition");
        assert_eq!(name.matches('"').count(), 2, "{name}");
        assert!(name.is_ascii() && !name.contains('<'), "{name}");
    }
}

#[tokio::test]
async fn extreme_figures_on_the_coats_sheet_are_answered_in_words() {
    let house = House::open().await;
    let car = house.car("Extremes").await;
    for value in [
        "1e308",
        "-1e308",
        "1e-320",
        "NaN",
        "inf",
        "-inf",
        "0",
        "-0",
        "",
        "1,5",
        "99999999999999999999",
        "\u{661}\u{662}",
    ] {
        let v = value.bytes().map(|b| format!("%{b:02x}")).collect::<String>();
        for field in ["air", "rh", "panel", "area", "dft", "solids", "transfer", "nominal_um", "readings"] {
            let mut fields = vec![
                ("air", "18"),
                ("rh", "70"),
                ("panel", "15"),
                ("area", "11"),
                ("dft", "17"),
                ("solids", "13"),
                ("transfer", "0.55"),
                ("nominal_um", "80"),
                ("readings", "82 79 91"),
                ("zone", "Z01.L"),
            ];
            fields.retain(|(name, _)| *name != field);
            let query: String = fields.iter().map(|(k, v)| format!("&{k}={}", v.replace(' ', "+"))).collect();
            let answer = house.get(&format!("/cars/{car}/coats?{field}={v}{query}")).await;
            assert_eq!(answer.status, 200, "{field}={value}");
            let text = answer.text();
            assert_eq!(html::faults(&text), Vec::<String>::new(), "{field}={value}");
            let svg = html::tags(&text)
                .unwrap()
                .into_iter()
                .any(|t| t.attributes.values().any(|v| (v.contains("NaN") || v.contains("inf ")) && t.name == "path"));
            assert!(!svg, "{field}={value}: a drawing with a figure that is none");
        }
    }
}
