//! The toner shelf: learned from panels, read from a file, taken from another car.

use jiff::Timestamp;
use job::colour::{Bench, Mix, Part};
use job::ids::{CarId, EntryId};
use job::mixing::{Carded, Formulated};
use job::paintwork::{self, engine};
use job::shop::Draft;
use job::what::What;

use crate::support::form::Form;
use crate::support::{House, html, paint};

fn lab_form(change: impl Fn(&str, String) -> String) -> Form {
    paint::lab().into_iter().fold(Form::new().text("do", "learn"), |form, (field, text)| {
        form.file(field, &format!("{field}.csv"), change(field, text))
    })
}

#[tokio::test]
async fn toners_are_learned_from_panels_shown_and_kept_when_somebody_says_so() {
    let house = House::open().await;
    let car = house.car("Learns").await;
    let page = format!("/cars/{car}/colour/toners");
    house.get(&page).await.says(200, &["No toners are known", "Learn from panels", "toners.csv", "substrate.csv"]);
    let work = house.begin(&page, lab_form(|_, text| text)).await;
    let done = house.done(&work).await;
    done.says(
        200,
        &[
            "4 toners learned from 16 panels",
            "Not kept yet",
            "leaf blue",
            "coarse aluminium",
            "aluminium",
            "fits them well",
            "Panels that disagree most",
            "look at this panel again",
            "Spray next",
            "binder",
            "in lightness only",
            "Not a proof",
        ],
    );
    assert_eq!(html::faults(&done.text()), Vec::<String>::new());
    assert_eq!(house.count(car).await, 1, "nothing is kept unasked");
    // Nobody picked: everything typed comes back.
    let form = Form::new().text("entry", EntryId::fresh()).text("name", "Autumn shelf").text("note", "gun 2");
    let again = house.post(&format!("{work}/keep"), form).await;
    again.says(422, &["Pick who is writing", "leaf blue"]);
    assert!(again.text().contains("Autumn shelf") && again.text().contains("gun 2"));
    let kept = house.keep_work(&work, &[("name", "Autumn shelf"), ("note", "gun 2")]).await;
    let page = house.get(&kept).await;
    page.says(
        200,
        &[
            "Kept as entry 2",
            "Autumn shelf",
            "gun 2",
            "16 panels",
            "6 panels, ",
            "fits them well",
            "Panels that disagree most",
            "Spray next",
        ],
    );
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let folded = house.shop.car(car).await.unwrap();
    let (_, shelved) = paintwork::shelf_in_use(&folded).unwrap();
    let names: Vec<&str> = shelved.panels_files.iter().map(|file| file.name.as_str()).collect();
    assert_eq!((names, shelved.toners, shelved.panels), (job::panels::NAMES.to_vec(), 4, 16));
    for (file, (_, text)) in shelved.panels_files.iter().zip(paint::lab()) {
        assert_eq!(house.shop.blob(file.hash).await.unwrap().unwrap().as_ref(), text.as_bytes());
    }
    // What is given out is what can be taken in again.
    let file = house.get(&format!("/cars/{car}/colour/toners/2/toners.json")).await;
    let (read, _) = job::shelf_file::read("TONERS.json", &file.bytes).unwrap();
    let from = read.learned.unwrap();
    assert_eq!((from.count, from.by_toner.len(), from.worst.len()), (16, 4, 8));
    // What the page says of a panel to spray next is what the file says, in g of 100 g.
    let next = from.next.first().unwrap();
    let said = html::words(&page.text());
    let own = 100.0 * next.fractions.get(&next.toner).unwrap();
    let grams = if own < 1.0 { format!("{own:.2} g {}", next.toner) } else { format!("{own:.1} g {}", next.toner) };
    for part in [next.words.as_str(), &grams, &format!("{:.0} \u{b5}m over {}", next.film_um, next.primer)] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(said.contains(&format!("known to about {:.1} in lightness only", next.unsure)), "{said}");
}

/// The silver blue of the shelf that is learned here, as a recipe with a card of it that came out darker.
async fn with_card(house: &House, car: CarId, film_um: Option<f64>) -> u64 {
    let shelf = paint::shelf();
    let folded = house.shop.car(car).await.unwrap();
    let target = folded.measurements().next().unwrap().0.id;
    let on = paintwork::shelf_in_use(&folded).unwrap().0.id;
    let mix = |black: f64| Mix {
        parts: [(3, 0.12), (2, 0.02), (1, black)].map(|(toner, fraction)| Part { toner, fraction }).to_vec(),
        film_um: 18.0,
        substrate: 1,
    };
    let bench = Bench::new(&shelf);
    let recipe = Formulated {
        name: "Silver blue".into(),
        target,
        shelf: on,
        brief: Default::default(),
        briefed: None,
        parts: engine::parts(&mix(0.002), &shelf),
        film_um: 18.0,
        primer: "N5".into(),
        coats: 3,
        predicted: engine::spectra(&bench.predict(&mix(0.002))),
        mean_de00: 0.4,
        by_angle: Vec::new(),
        after: None,
        cards: Vec::new(),
        doubts: Vec::new(),
        note: String::new(),
    };
    let recipe = house.put(car, What::Formulated(recipe)).await;
    let card = Carded {
        name: "C1".into(),
        recipe,
        batch: None,
        instrument: String::new(),
        file: "c.csv".into(),
        source: house.shop.keep_file(b"invented").await.unwrap(),
        spectra: engine::spectra(&bench.predict(&mix(0.004))),
        coats: 3,
        film_um,
        gun: String::new(),
        master: None,
        doubts: Vec::new(),
        note: String::new(),
    };
    let card = house.put(car, What::Carded(card)).await;
    house.shop.car(car).await.unwrap().entry_by_id(card).unwrap().seq
}

#[tokio::test]
async fn toners_are_learned_again_with_the_cards_of_the_car() {
    let house = House::open().await;
    // Its shelf came as a file: the panels are not there to learn from again.
    let car = house.painted_car("Learns again").await;
    with_card(&house, car, None).await;
    let page = format!("/cars/{car}/colour/toners");
    house
        .get(&page)
        .await
        .says(200, &["Learn again", "The panels were not kept with this shelf", "the 1 card of this car"]);
    let shelf_of = async || {
        let folded = house.shop.car(car).await.unwrap();
        let (entry, shelved) = paintwork::shelf_in_use(&folded).unwrap();
        (entry.seq, shelved.clone())
    };
    let again = |seq: u64| Form::new().text("do", "again").text("shelf", seq);
    house.post(&page, again(shelf_of().await.0)).await.says(422, &["The panels were not kept with this shelf"]);
    house.post(&page, again(1)).await.says(422, &["No shelf of this car was chosen"]);

    let work = house.begin(&page, lab_form(|_, text| text)).await;
    house.done(&work).await;
    house.keep_work(&work, &[("name", "From panels")]).await;
    let (seq, before) = shelf_of().await;
    let shown = house.get(&page).await;
    shown.says(200, &["Learn again, with the 1 card of this car too"]);
    assert_eq!(html::faults(&shown.text()), Vec::<String>::new());
    let work = house.begin(&page, again(seq)).await;
    let done = house.done(&work).await;
    done.says(200, &["4 toners learned from 17 panels", "One of the panels is a card of this car", "Not kept yet"]);
    // The card shows twice the black that its recipe names, so it stands among the panels that disagree.
    let said = html::words(&done.text());
    let (_, worst) = said.split_once("Panels that disagree most").unwrap();
    assert!(worst.split_once("Spray next").unwrap().0.contains("card of "), "{worst}");
    assert_eq!(shelf_of().await.1, before, "nothing is kept unasked");
    house.keep_work(&work, &[("name", "With the card")]).await;
    let (later, after) = shelf_of().await;
    assert!(later > seq);
    assert_eq!((after.panels, &after.panels_files), (17, &before.panels_files));
    assert_ne!(after.file, before.file);
    // It grows on: the next card comes in beside the first.
    with_card(&house, car, Some(17.0)).await;
    house.get(&page).await.says(200, &["with the 2 cards of this car too"]);
}

#[tokio::test]
async fn a_panel_that_was_mixed_otherwise_than_its_row_says_disagrees_most() {
    let house = House::open().await;
    let car = house.car("One wrong panel").await;
    let wrong = |field: &str, text: String| match field {
        // P10 and P11 are the blue let down with white; P10 now says that it held three times as much.
        "panels" => {
            text.lines()
                .map(|line| {
                    if line.starts_with("P10,") {
                        "P10,0.2,0,0.15,0,0.65,22,black\n".into()
                    } else {
                        format!("{line}\n")
                    }
                })
                .collect()
        }
        _ => text,
    };
    let work = house.begin(&format!("/cars/{car}/colour/toners"), lab_form(wrong)).await;
    let said = html::words(&house.done(&work).await.text());
    let (_, worst) = said.split_once("Panels that disagree most").unwrap();
    let (worst, _) = worst.split_once("Spray next").unwrap();
    let place = |name: &str| worst.find(name).unwrap_or(usize::MAX);
    let others = (0..16).filter(|n| ![10, 11].contains(n)).map(|n| format!("P{n:02}"));
    for other in others {
        assert!(place("P10").min(place("P11")) < place(&other), "{worst}");
    }
}

#[tokio::test]
async fn panels_that_do_not_hang_together_are_refused_at_their_file() {
    let house = House::open().await;
    let car = house.car("Bad panels").await;
    let page = format!("/cars/{car}/colour/toners");
    let swap = |of: &'static str, from: &'static str, to: &'static str| {
        move |field: &str, text: String| if field == of { text.replacen(from, to, 1) } else { text }
    };
    let only_white =
        |field: &str, text: String| if field == "panels" { text.replace(",black\n", ",white\n") } else { text };
    let cases: [(&str, &str, Form, &[&str]); 5] = [
        (
            "a sum over one",
            "panels",
            lab_form(swap("panels", ",0.8000,22", ",0.9000,22")),
            &["panels.csv", "row 2", "binder"],
        ),
        ("a film of nothing", "panels", lab_form(swap("panels", ",22,", ",0,")), &["panels.csv", "row 2", "0"]),
        ("no black", "panels", lab_form(only_white), &["o panel stands over a dark primer"]),
        ("a kind nobody knows", "toners", lab_form(swap("toners", ",solid,", ",liquid,")), &["toners.csv", "liquid"]),
        (
            "no spectra",
            "measurements",
            lab_form(|field, text| if field == "measurements" { "x".into() } else { text }),
            &["measurements.csv"],
        ),
    ];
    for (what, field, form, says) in cases {
        let answer = house.post(&page, form).await;
        answer.says(422, &["Not kept yet"]);
        answer.says(422, says);
        assert!(answer.text().contains(&format!("id=\"e-{field}\"")), "{what}: not at its field");
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{what}");
    }
    let three =
        paint::lab().into_iter().take(3).fold(Form::new(), |form, (field, text)| form.file(field, "x.csv", text));
    house.post(&page, three).await.says(422, &["No file came for: primers", "substrate.csv"]);
    let huge = Form::new().file("toners", "t.csv", vec![b'x'; 9 * 1024 * 1024]);
    house.post(&page, huge).await.says(422, &["8 MB"]);
    assert_eq!(house.count(car).await, 1);
}

#[tokio::test]
async fn a_toner_file_is_read_and_one_that_is_none_is_refused_in_words() {
    let house = House::open().await;
    let car = house.painted_car("From a file").await;
    let page = format!("/cars/{car}/colour/toners");
    house.get(&page).await.says(
        200,
        &["Test toners", "4 toners learned from 24 panels", "Not known: the toner file does not say", "jet black"],
    );
    let file = |text: String| Form::new().text("do", "file").file("toner_file", "mine.json", text);
    let good = paint::toner_file();
    for (text, says) in [
        ("{}".to_string(), "no toner file"),
        ("not json".into(), "mine.json"),
        (good.replacen("\"version\":1", "\"version\":2", 1), "version 2"),
        (good.replacen("\"version\":1", "\"version\":0", 1), "version 0"),
        (good.replacen("\"density_g_cm3\":2.0", "\"density_g_cm3\":-2.0", 1), "density"),
    ] {
        house.post(&page, file(text)).await.says(422, &["Not kept yet", says]);
    }
    house.post(&page, Form::new().text("do", "file")).await.says(422, &["Choose the toner file"]);
    // A file that does not say what it was learned from cannot stand in a record, and that is said where it is kept.
    let bare = good.split(",\"panels\":").next().unwrap().to_string() + "}";
    let work = house.begin(&page, file(bare)).await;
    house
        .done(&work)
        .await
        .says(200, &["how well they are known is not said", "Not known: the toner file does not say"]);
    let form = Form::new().text("entry", EntryId::fresh()).text("who", house.lead.id).text("name", "x");
    house.post(&format!("{work}/keep"), form).await.says(422, &["does not say how many panels"]);
}

#[tokio::test]
async fn the_shelf_of_another_car_is_taken_as_it_stands_there() {
    let house = House::open().await;
    let from = house.painted_car("Has toners").await;
    let car = house.car("Has none").await;
    let page = format!("/cars/{car}/colour/toners");
    house.get(&page).await.says(200, &["Use the shelf of another car", "Has toners: Test toners, 4 toners"]);
    let form = |from: &str| {
        Form::new().text("do", "copy").text("from", from).text("entry", EntryId::fresh()).text("who", house.painter.id)
    };
    house.post(&page, form("nothing")).await.says(422, &["No car with a shelf was chosen"]);
    house.post(&page, form(&car.to_string())).await.says(422, &["No car with a shelf was chosen"]);
    let answer = house.post(&page, form(&from.to_string())).await;
    assert_eq!(answer.status, 303);
    house
        .get(answer.header("location"))
        .await
        .says(200, &["Test toners", "Taken from the record of Has toners, entry 2"]);
    let shelves = [from, car];
    let mut files = Vec::new();
    for car in shelves {
        let folded = house.shop.car(car).await.unwrap();
        files.push(paintwork::shelf_in_use(&folded).unwrap().1.file);
    }
    assert_eq!(files[0], files[1]);
    // Kept last is in use; the one before is still there to be looked at.
    house.post(&page, form(&from.to_string())).await;
    house.get(&page).await.says(200, &["Other shelves of this car"]);
    house.get(&format!("{page}?shelf=2")).await.says(200, &["This is not the shelf in use"]);
    house.get(&format!("{page}?shelf=1")).await.says(404, &["toner shelf"]);
}

#[tokio::test]
async fn a_shelf_that_this_version_cannot_read_can_be_looked_past() {
    let house = House::open().await;
    let car = house.painted_car("From a later version").await;
    let folded = house.shop.car(car).await.unwrap();
    let mut shelved = paintwork::shelf_in_use(&folded).unwrap().1.clone();
    let later = paint::toner_file().replacen("\"version\":1", "\"version\":9", 1);
    shelved.file = house.shop.keep_file(later.as_bytes()).await.unwrap();
    let what = What::Shelved(shelved);
    let (entry, by) = (EntryId::fresh(), house.lead.id);
    let draft = Draft { entry, base: None, by, noted: None, corrects: None, keep_both: false, what };
    house.shop.keep(car, &draft, Timestamp::now()).await.unwrap();
    let page = format!("/cars/{car}/colour/toners");
    house.get(&page).await.says(200, &["cannot be read by this version", "version 9", "Learn from panels"]);
    let recipes = format!("/cars/{car}/colour/recipes");
    house.get(&recipes).await.says(200, &["version 9", "Learn the toners"]);
    house.post(&recipes, Form::new().text("target", 3)).await.says(422, &["version 9", "Learn the toners again"]);
    // The way out is open.
    house.keep_toners(car).await;
    house.get(&page).await.says(200, &["4 toners learned from 24 panels", "Other shelves of this car"]);
}
