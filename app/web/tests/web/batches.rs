//! Batches by part of the car, their keep-samples and their drift.

use job::ids::EntryId;
use job::mixing::Mixed;
use job::what::What;

use crate::support::form::Form;
use crate::support::mixing::{FRACTIONS, Painted, cards_csv};
use crate::support::{House, html};

async fn card(house: &House, painted: &Painted, name: &str, batch: u64, black: f64, master: &str) -> String {
    let text = cards_csv(&painted.shelf, &[(name, &[FRACTIONS[0], FRACTIONS[1], ("Black", black)])]);
    let form = Form::new()
        .text("entry", EntryId::fresh())
        .text("who", house.painter.id)
        .text("batch", batch)
        .text("recipe", painted.recipe)
        .pairs([("coats", "3"), ("then", "batches"), ("master", master)])
        .file("file", "card.csv", text);
    let answer = house.post(&format!("/cars/{}/colour/cards", painted.car), form).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
    answer.header("location").to_string()
}

#[tokio::test]
async fn a_car_without_batches_says_what_to_do_first() {
    let house = House::open().await;
    let car = house.car("None yet").await;
    let page = house.get(&format!("/cars/{car}/colour/batches")).await;
    page.says(200, &["No batch has been weighed out", "Weigh out a recipe"]);
    house.get(&format!("/cars/{car}/colour/pour")).await.says(200, &["no recipe in this car's record"]);
    house.get(&format!("/cars/{car}/colour/cards")).await.says(200, &["No card has been kept"]);
}

#[tokio::test]
async fn batches_are_told_by_part_and_their_keep_samples_checked_in_words() {
    let house = House::open().await;
    let painted = house.mixing_car("History").await;
    let first = house.batch(&painted, &["bonnet", "Z01.L"], "Shelf 2").await;
    let second = house.batch(&painted, &["bonnet", "boot lid"], "").await;
    card(&house, &painted, "Master", first, 0.004, "Drawer 3").await;
    card(&house, &painted, "Second", second, 0.0041, "").await;
    let page = house.get(&format!("/cars/{}/colour/batches", painted.car)).await;
    page.says(200, &["2 batches were weighed out, for 3 parts", "Shelf 2", "none kept", "lot of Black", "Drawer 3"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    // The sample of the first batch, sprayed again months later, has darkened.
    let asks = house.get(&format!("/cars/{}/colour/cards?batch={first}&then=batches", painted.car)).await;
    asks.says(200, &["Import a card", "batch 1"]);
    assert!(asks.text().contains("name=\"then\" value=\"batches\""));
    let there = card(&house, &painted, "Months later", first, 0.02, "").await;
    assert!(there.contains("/colour/batches"), "{there}");
    let page = house.get(there.split('#').next().unwrap()).await;
    page.says(200, &["Drift", "Months later", "against Master", "Too far for panels next to one another", "darker"]);
    page.says(200, &["No difference to be seen side by side"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
}

#[tokio::test]
async fn any_two_cards_stand_side_by_side() {
    let house = House::open().await;
    let painted = house.mixing_car("Two").await;
    let batch = house.batch(&painted, &["roof"], "").await;
    card(&house, &painted, "A", batch, 0.004, "").await;
    card(&house, &painted, "B", batch, 0.02, "").await;
    let car = house.shop.car(painted.car).await.unwrap();
    let [a, b] = job::paintwork::cards(&car).iter().map(|(entry, _)| entry.seq).collect::<Vec<_>>()[..] else {
        panic!("two cards")
    };
    let at = |query: &str| format!("/cars/{}/colour/batches?{query}", painted.car);
    let page = house.get(&at(&format!("a={a}&b={b}"))).await;
    page.says(200, &["Any two cards", "Filament lamp", "Shop tube", "Too far"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    for query in ["a=1", "b=x", "corrects=1", "corrects=x"] {
        assert_eq!(house.get(&at(query)).await.status, 404, "{query}");
    }
}

#[tokio::test]
async fn a_batch_is_put_right_by_a_later_entry() {
    let house = House::open().await;
    let painted = house.mixing_car("Put right").await;
    let seq = house.batch(&painted, &["bonnet", "a bracket"], "Shelf 2").await;
    let page = house.get(&format!("/cars/{}/colour/batches?corrects={seq}", painted.car)).await;
    page.says(200, &["Correct the batch"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let fields = html::filled(&page.text(), "put-right");
    let sent = |poured: &str, retained: &str| {
        let fields = fields.iter().map(|(name, value)| match name.as_str() {
            "poured-2" => (name.as_str(), poured.to_string()),
            "retained" => (name.as_str(), retained.to_string()),
            _ => (name.as_str(), value.clone()),
        });
        fields.fold(Form::new(), |form, (name, value)| form.text(name, value)).text("who", house.bench.id)
    };
    let address = format!("/cars/{}/colour/batches", painted.car);
    let refused = house.post(&address, sent("a lot", "Shelf 3")).await;
    refused.says(422, &["\"a lot\" was typed for the Black poured"]);
    assert!(refused.text().contains("Shelf 3"));
    assert_eq!(html::faults(&refused.text()), Vec::<String>::new());
    let kept = house.post(&address, sent("4.2", "Shelf 3")).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let car = house.shop.car(painted.car).await.unwrap();
    let [batch] = &job::paintwork::batches(&car)[..] else { panic!("one batch") };
    let Mixed { retained, parts_of_car, steps, shift_de00, .. } = batch.mixed;
    assert_eq!((retained.as_str(), parts_of_car.len(), steps[2].poured_g), ("Shelf 3", 2, Some(4.2)));
    assert_eq!(steps[2].lot, "lot of Black");
    // Three and a half times the black is seen.
    assert!(*shift_de00 > 1.0, "{shift_de00}");
    assert_eq!(car.entry(seq).unwrap().superseded_by, Some(car.count));
    assert!(matches!(car.entries().last().unwrap().what, What::Mixed(_)));
}
