//! Cards imported, held against what is wanted, and what they make of the recipe.

use job::ids::EntryId;
use job::mixing::{Carded, Formulated};
use job::what::What;

use crate::support::form::Form;
use crate::support::mixing::{FRACTIONS, Painted, cards_csv};
use crate::support::{Answer, House, html};

/// The recipe as it came out of the gun with too little black.
const PALE: [(&str, f64); 3] = [FRACTIONS[0], FRACTIONS[1], ("Black", 0.002)];

async fn import(house: &House, painted: &Painted, text: &str, more: &[(&str, &str)]) -> Answer {
    let form = Form::new()
        .text("entry", EntryId::fresh())
        .text("who", house.painter.id)
        .text("recipe", painted.recipe)
        .pairs([("coats", "3"), ("film_um", "16,5"), ("gun", "1.3 tip, 2.0 bar, 150 mm")])
        .pairs(more.iter().copied())
        .file("file", "cards.csv", text);
    house.post(&format!("/cars/{}/colour/cards", painted.car), form).await
}

async fn cards(house: &House, painted: &Painted) -> Vec<(u64, Carded)> {
    let car = house.shop.car(painted.car).await.unwrap();
    job::paintwork::cards(&car).into_iter().map(|(entry, card)| (entry.seq, card.clone())).collect()
}

#[tokio::test]
async fn several_cards_of_one_file_are_kept_and_shown_beside_what_is_wanted() {
    let house = House::open().await;
    let painted = house.mixing_car("Cards").await;
    let batch = house.batch(&painted, &["bonnet"], "Shelf 2").await;
    let text = cards_csv(&painted.shelf, &[("C1", &PALE), ("C2", &FRACTIONS)]);
    let kept = import(&house, &painted, &text, &[("batch", &batch.to_string())]).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let all = cards(&house, &painted).await;
    assert_eq!(all.iter().map(|(_, card)| card.name.as_str()).collect::<Vec<_>>(), ["C1", "C2"]);
    let (_, card) = &all[0];
    assert_eq!((card.coats, card.film_um, card.master()), (3, Some(16.5), None));
    assert!(card.batch.is_some() && card.gun == "1.3 tip, 2.0 bar, 150 mm");
    let page = house.get(kept.header("location")).await;
    page.says(200, &["Copper 1: 2 cards", "Wanted left, card right", "1.3 tip", "16.5 \u{b5}m", "batch 1", "C1", "C2"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    house.get(&format!("/cars/{}/colour/cards?recipe={}", painted.car, painted.recipe)).await.says(200, &["C1"]);
}

#[tokio::test]
async fn a_master_card_says_where_it_is_kept_and_can_be_corrected() {
    let house = House::open().await;
    let painted = house.mixing_car("Master").await;
    let text = cards_csv(&painted.shelf, &[("own name", &FRACTIONS)]);
    let kept = import(&house, &painted, &text, &[("name", "Card <7>"), ("master", "Drawer 3")]).await;
    let seq = cards(&house, &painted).await[0].0;
    house.get(kept.header("location")).await.says(200, &["Sealed master card", "Drawer 3", "Card <7>"]);
    house.get(&format!("/cars/{}/colour/batches", painted.car)).await.says(200, &["Sealed master cards", "Drawer 3"]);
    let page = house.get(&format!("/cars/{}/colour/cards?corrects={seq}", painted.car)).await;
    page.says(200, &["Correct this card", "the measurement stays as it is"]);
    let fields = html::filled(&page.text(), "card-form");
    let moved = fields.iter().map(|(name, value)| match name.as_str() {
        "master" => ("master", "Strongbox, envelope 2"),
        _ => (name.as_str(), value.as_str()),
    });
    let form = Form::new().pairs(moved).text("who", house.painter.id);
    let answer = house.post(&format!("/cars/{}/colour/cards", painted.car), form.clone()).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
    let all = cards(&house, &painted).await;
    assert_eq!(all.len(), 1);
    assert_eq!(
        (all[0].1.master(), all[0].1.name.as_str(), all[0].1.spectra.len()),
        (Some("Strongbox, envelope 2"), "Card <7>", 6)
    );
    // The same correction under another name: the entry was corrected already.
    let late = Form::new()
        .text("entry", EntryId::fresh())
        .text("who", house.painter.id)
        .text("corrects", seq)
        .text("recipe", painted.recipe)
        .pairs([("coats", "3"), ("name", "late")]);
    let refused = house.post(&format!("/cars/{}/colour/cards", painted.car), late).await;
    refused.says(422, &["already corrected"]);
    assert_eq!(html::faults(&refused.text()), Vec::<String>::new());
}

#[tokio::test]
async fn what_is_no_card_is_refused_at_its_field_and_nothing_typed_is_lost() {
    let house = House::open().await;
    let painted = house.mixing_car("Bad cards").await;
    let good = cards_csv(&painted.shelf, &[("C1", &FRACTIONS)]);
    let before = house.count(painted.car).await;
    for (text, more, says) in [
        ("", vec![], "No file came with it"),
        ("geometry,400\n45as15,x\n", vec![], "cards.csv"),
        (good.as_str(), vec![("coats", "2.5")], "2.5 coats were typed"),
        (good.as_str(), vec![("coats", "")], "The coats is missing"),
        (good.as_str(), vec![("film_um", "thick")], "\"thick\" was typed"),
        (good.as_str(), vec![("film_um", "9000")], "ilm of colour"),
        (good.as_str(), vec![("only", "C9")], "0 of them were asked for"),
    ] {
        let mut more = more;
        more.push(("note", "hung upright"));
        let answer = import(&house, &painted, text, &more).await;
        answer.says(422, &["Not kept yet", says]);
        assert!(answer.text().contains("hung upright"), "{says}");
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{says}");
    }
    let nobody = Form::new()
        .text("entry", EntryId::fresh())
        .text("recipe", painted.recipe)
        .pairs([("coats", "3")])
        .file("file", "c.csv", good);
    house.post(&format!("/cars/{}/colour/cards", painted.car), nobody).await.says(422, &["Pick who is writing"]);
    assert_eq!(house.count(painted.car).await, before);
    for address in ["recipe=1", "recipe=x", "batch=1", "corrects=1"] {
        let status = house.get(&format!("/cars/{}/colour/cards?{address}", painted.car)).await.status;
        assert_eq!(status, 404, "{address}");
    }
}

#[tokio::test]
async fn cards_correct_their_recipe_and_the_corrected_one_is_kept_after_it() {
    let house = House::open().await;
    let painted = house.mixing_car("Correction").await;
    let text = cards_csv(&painted.shelf, &[("C1", &PALE), ("C2", &PALE)]);
    import(&house, &painted, &text, &[]).await;
    let all = cards(&house, &painted).await;
    let ticked = format!("card={}&card={}", all[0].0, all[1].0);
    let at = |query: &str| format!("/cars/{}/colour/cards?recipe={}&work=1&{query}", painted.car, painted.recipe);
    house.get(&at("")).await.says(200, &["No correction", "No card was ticked"]);
    house.get(&at(&format!("{ticked}&pot=-3"))).await.says(200, &["No correction", "pot"]);
    let one = house.get(&at(&format!("card={}&own=1", all[0].0))).await;
    one.says(200, &["One card of a flake colour", "First the gun", "Then the toners"]);
    let page = house.get(&at(&format!("{ticked}&own=1&pot=300"))).await;
    page.says(200, &["What the cards say", "2 cards", "Black", "more", "Into the pot", "Keep the corrected recipe"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let fields = html::filled(&page.text(), "keep");
    let form = Form::new()
        .pairs(fields.iter().map(|(name, value)| (name.as_str(), value.as_str())))
        .text("who", house.painter.id);
    let kept = house.post(&format!("/cars/{}/colour/cards/recipe", painted.car), form).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let car = house.shop.car(painted.car).await.unwrap();
    let What::Formulated(Formulated { after, cards, parts, name, .. }) = &car.entries().last().unwrap().what else {
        panic!("no recipe was kept")
    };
    assert_eq!((*after, cards.len(), name.as_str()), (Some(painted.recipe_id), 2, "Copper 1, corrected"));
    // The cards had too little black, so more of it goes in.
    let black = parts.iter().find(|part| part.toner == "Black").unwrap().fraction;
    assert!(black > 0.004, "{black}");
    house.get(kept.header("location")).await.says(200, &["Copper 1, corrected"]);
}
