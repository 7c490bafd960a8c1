//! Measurements imported and shown, and the Coats sheet's figures.

use job::ids::{CarId, EntryId};

use crate::support::form::{Form, spectra};
use crate::support::{Answer, House, html};

async fn import(house: &House, car: CarId, file: &str, bytes: impl AsRef<[u8]>, more: &[(&str, &str)]) -> Answer {
    let form = Form::new()
        .text("entry", EntryId::fresh())
        .text("who", house.painter.id)
        .pairs(more.iter().copied())
        .file("file", file, bytes);
    house.post(&format!("/cars/{car}/colour"), form).await
}

#[tokio::test]
async fn a_measurement_is_shown_by_angle_in_whatever_form_its_file_came() {
    let house = House::open().await;
    let car = house.car("Forms of one file").await;
    let plain = spectra(&["Invented blue"]);
    let with_semicolons = plain.replace(',', ";").replace('.', ",");
    let percent: String = plain
        .lines()
        .enumerate()
        .map(|(n, line)| {
            let cells: Vec<String> = line
                .split(',')
                .enumerate()
                .map(
                    |(i, c)| {
                        if n == 0 || i < 2 { c.to_string() } else { format!("{}", c.parse::<f64>().unwrap() * 100.0) }
                    },
                )
                .collect();
            cells.join(",") + "\n"
        })
        .collect();
    let mut n = 1;
    let mut shown = Vec::new();
    for (what, text) in [
        ("as it should be", plain.clone()),
        ("a mark at the start", format!("\u{feff}{plain}")),
        ("lines of another system", plain.replace('\n', "\r\n")),
        ("semicolons and decimal commas", with_semicolons),
    ] {
        let answer = import(&house, car, "m.csv", text, &[]).await;
        assert_eq!(answer.status, 303, "{what}: {}", html::words(&answer.text()));
        n += 1;
        let page = house.get(&format!("/cars/{car}/colour?m={n}")).await;
        page.says(
            200,
            &["Overcast day", "Filament lamp", "Shop tube", "Flop index", "Not a proof", "15\u{b0}", "110\u{b0}"],
        );
        assert_eq!(html::faults(&page.text()), Vec::<String>::new());
        let swatches: Vec<String> = html::tags(&page.text())
            .unwrap()
            .into_iter()
            .filter(|t| t.name == "rect" && t.get("fill").starts_with('#'))
            .map(|t| t.get("fill").to_string())
            .collect();
        shown.push(swatches);
    }
    assert!(shown.windows(2).all(|w| w[0] == w[1]), "one paint has one colour, however its file was written");
    // Percent is either recognised and said, or refused; a paint a hundred times too bright is neither.
    let answer = import(&house, car, "percent.csv", percent, &[]).await;
    match answer.status.as_u16() {
        303 => {
            let page = house.get(answer.header("location")).await;
            page.says(200, &["ercent"]);
        }
        other => assert_eq!(
            (other, html::words(&answer.text()).contains("ercent")),
            (422, true),
            "{}",
            html::words(&answer.text())
        ),
    }
}

#[tokio::test]
async fn a_file_that_is_no_measurement_is_refused_with_the_place() {
    let house = House::open().await;
    let car = house.car("Bad files").await;
    let good = spectra(&["One"]);
    let without = |line: &str| {
        line.split(',').enumerate().filter(|(i, _)| *i != 17).map(|(_, c)| c).collect::<Vec<_>>().join(",")
    };
    let missing: String = good.lines().map(|line| without(line) + "\n").collect();
    let text = good.replacen("0.7", "much", 1);
    for (what, bytes, says) in [
        ("empty", Vec::new(), "No file"),
        ("blank", b"\n\n".to_vec(), "m.csv"),
        ("missing wavelength", missing.into_bytes(), "550"),
        ("a word", text.into_bytes(), "row"),
        ("not text", vec![0xff, 0xfe, 0, 1], "m.csv"),
        ("negative", good.replacen("0.7", "-0.7", 1).into_bytes(), "-0.7"),
        ("not a number", good.replacen("0.7", "NaN", 1).into_bytes(), "NaN"),
        ("another angle", good.replacen("45as15", "45as16", 1).into_bytes(), "45as16"),
        ("an angle twice", good.replacen("45as25", "45as15", 1).into_bytes(), ""),
    ] {
        let answer = import(&house, car, "m.csv", bytes, &[("note", "from the roof"), ("instrument", "Lent")]).await;
        answer.says(422, &["Not kept yet", says]);
        let page = answer.text();
        assert_eq!(html::faults(&page), Vec::<String>::new(), "{what}");
        assert!(page.contains("from the roof") && page.contains("Lent"), "{what}: what was typed is gone");
    }
    let form =
        Form::new().text("entry", EntryId::fresh()).pairs([("note", "from the roof")]).file("file", "m.csv", good);
    house.post(&format!("/cars/{car}/colour"), form).await.says(422, &["Pick who is writing"]);
    assert_eq!(house.count(car).await, 1);
}

#[tokio::test]
async fn several_measurements_in_one_file_are_taken_up_to_twenty() {
    let house = House::open().await;
    let car = house.car("Several").await;
    let names: Vec<String> = (0..21).map(|n| format!("P{n:02}")).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    import(&house, car, "many.csv", spectra(&names), &[]).await.says(422, &["21", "at most 20"]);
    assert_eq!(house.count(car).await, 1);
    assert_eq!(import(&house, car, "many.csv", spectra(&names), &[("only", "P07")]).await.status, 303);
    assert_eq!(house.count(car).await, 2);
    import(&house, car, "many.csv", spectra(&names), &[("only", "P99")]).await.says(422, &["21"]);
    let form = Form::new().text("entry", EntryId::fresh()).text("who", house.painter.id).file(
        "file",
        "many.csv",
        spectra(&names[..20]),
    );
    for _ in 0..2 {
        let answer = house.post(&format!("/cars/{car}/colour"), form.clone()).await;
        assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
        assert_eq!(house.count(car).await, 22, "sent twice, kept once");
    }
}

#[tokio::test]
async fn two_paints_are_compared_as_split_swatches() {
    let house = House::open().await;
    let car = house.car("Two paints").await;
    import(&house, car, "m.csv", spectra(&["One", "Other"]), &[]).await;
    let page = house.get(&format!("/cars/{car}/colour?m=2&with=3")).await;
    page.says(200, &["One left, Other right", "CIEDE2000"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let pairs =
        html::tags(&page.text()).unwrap().into_iter().filter(|t| t.name == "rect" && t.get("x") == "42").count();
    assert_eq!(pairs, 18, "six angles under three lights");
    // The form sends "nothing" as an empty field.
    house.get(&format!("/cars/{car}/colour?m=2&with=")).await.says(200, &["Flop index"]);
    house.get(&format!("/cars/{car}/colour?m=2&with=2")).await.says(200, &["Flop index"]);
    house.get(&format!("/cars/{car}/colour?m=1")).await.says(404, &[]);
    house.get(&format!("/cars/{car}/colour?m=2&with=1")).await.says(404, &[]);
    let csv = house.get(&format!("/cars/{car}/colour/2.csv")).await;
    assert_eq!((csv.status.as_u16(), csv.header("content-type")), (200, "text/csv; charset=utf-8"));
    let again = import(&house, car, "again.csv", csv.bytes.clone(), &[]).await;
    assert_eq!(again.status, 303, "what is handed out can be read back: {}", html::words(&again.text()));
    let folded = house.shop.car(car).await.unwrap();
    let spectra: Vec<_> = folded.measurements().map(|(e, m)| (e.seq, m.name.clone(), m.spectra.clone())).collect();
    let find = |seq| spectra.iter().find(|(s, ..)| *s == seq).map(|(_, name, spectra)| (name, spectra));
    assert_eq!(find(2), find(4));
}

/// BRIEF section 11 of the trade, common practice: at 18 deg C and 70 % the dew point is 12.4 deg C, so a panel at
/// 15 deg C has a margin of 2.6 and has to wait.
#[tokio::test]
async fn published_margin_and_litres_stand_on_the_screen() {
    let house = House::open().await;
    let car = house.car("Coats").await;
    let page = house.get(&format!("/cars/{car}/coats?air=18&rh=70&panel=15")).await;
    page.says(200, &["Not yet", "12.4", "2.6"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    house.get(&format!("/cars/{car}/coats?air=18&rh=70&panel=16")).await.says(200, &["Yes"]);
    house.get(&format!("/cars/{car}/coats?air=18&rh=86&panel=25")).await.says(200, &["Not yet"]);
    // 11 m2 of 17 um at 13 % and 0.55: 11 x 17 / (130 x 0.55) = 2.6 L.
    house.get(&format!("/cars/{car}/coats?area=11&dft=17&solids=13&transfer=0.55")).await.says(200, &["2.6 L"]);
    // Clear, 11 m2, 55 um, 44 %, 0.55: 2.5 L. Epoxy 40 m2, 60 um, 48 %, 0.5: 10.0 L. Surfacer 11, 120, 52, 0.6: 4.2 L.
    house.get(&format!("/cars/{car}/coats?area=11&dft=55&solids=44&transfer=0.55")).await.says(200, &["2.5 L"]);
    house.get(&format!("/cars/{car}/coats?area=40&dft=60&solids=48&transfer=0.5")).await.says(200, &["10.0 L"]);
    house.get(&format!("/cars/{car}/coats?area=11&dft=120&solids=52&transfer=0.6")).await.says(200, &["4.2 L"]);
    for (query, says) in [("area=-1", "area"), ("dft=0", "film"), ("solids=130", "solids"), ("transfer=2", "transfer")]
    {
        let field = query.split('=').next().unwrap();
        let others: String = [("area", "11"), ("dft", "17"), ("solids", "13"), ("transfer", "0.55")]
            .iter()
            .filter(|(n, _)| *n != field)
            .map(|(n, v)| format!("&{n}={v}"))
            .collect();
        let page = house.get(&format!("/cars/{car}/coats?{query}{others}")).await;
        page.says(200, &[says]);
        let wrong = html::tags(&page.text())
            .unwrap()
            .into_iter()
            .find(|t| t.get("aria-invalid") == "true")
            .unwrap_or_else(|| panic!("no field is marked for {query}"));
        assert_eq!(wrong.get("name"), field);
    }
    house.get(&format!("/cars/{car}/coats?zone=Z01.L&nominal_um=80&readings=82+79+91")).await.says(200, &["ccepted"]);
}

#[tokio::test]
async fn a_climate_that_cannot_be_kept_is_shown_again_as_typed() {
    let house = House::open().await;
    let car = house.car("Climate").await;
    let form = Form::new()
        .pairs([("kind", "climate_read"), ("air", "18"), ("rh", "70"), ("panel", "15")])
        .text("entry", EntryId::fresh());
    let answer = house.keep(car, form).await;
    answer.says(422, &["Pick who is writing"]);
    assert_eq!(html::faults(&answer.text()), Vec::<String>::new());
    let sent = html::filled(&answer.text(), "climate");
    for (name, value) in [("air", "18"), ("rh", "70"), ("panel", "15")] {
        assert!(sent.iter().any(|(n, v)| n == name && v == value), "{name} is gone: {sent:?}");
    }
    let film = Form::new()
        .pairs([
            ("kind", "film_judged"),
            ("zone", "Z01.L"),
            ("nominal_um", "80"),
            ("readings", "82 x 91"),
            ("instrument", "other"),
            ("instrument_name", "Lent gauge"),
            ("precision_abs", "2"),
        ])
        .text("entry", EntryId::fresh())
        .text("who", house.painter.id);
    let answer = house.keep(car, film).await;
    answer.says(422, &["\"x\" is not a reading", "82 x 91"]);
    assert_eq!(html::faults(&answer.text()), Vec::<String>::new());
    let text = answer.text();
    assert!(text.contains("Lent gauge"));
    let who = html::tags(&text)
        .unwrap()
        .into_iter()
        .any(|t| t.get("name") == "who" && t.has("checked") && t.get("value") == house.painter.id.to_string());
    assert!(who, "the person picked is no longer picked");
    // Figures worked out elsewhere are not believed.
    let forged = Form::new()
        .pairs([
            ("kind", "climate_read"),
            ("air", "18"),
            ("rh", "70"),
            ("panel", "15"),
            ("spray", "true"),
            ("why", "because"),
            ("margin_c", "9"),
        ])
        .text("entry", EntryId::fresh())
        .text("who", house.painter.id);
    assert_eq!(house.keep(car, forged).await.status, 303);
    let folded = house.shop.car(car).await.unwrap();
    let job::what::What::ClimateRead(kept) = &folded.entry(2).unwrap().what else { panic!("a climate") };
    assert!(!kept.spray && (kept.margin_c - 2.6).abs() < 0.05);
}
