//! Weighing out: one step a screen, too much in the pot, and the batch that is kept at the end.

use job::ids::EntryId;
use job::mixing::Mixed;
use job::what::What;

use crate::support::form::Form;
use crate::support::mixing::{FRACTIONS, Painted, mix};
use crate::support::{Answer, House, html};

/// The address of a link with these words.
fn link(answer: &Answer, words: &str) -> String {
    let page = answer.text();
    let tags = html::tags(&page).unwrap();
    let found = tags.iter().find(|tag| tag.name == "a" && tag.text.trim() == words);
    let said = html::words(&page);
    let href = found.unwrap_or_else(|| panic!("no link \"{words}\" in: {said}")).get("href").to_string();
    href.replace("&amp;", "&")
}

/// The two large figures of a step: what to add, and what the scale should read.
fn figures(answer: &Answer) -> (f64, f64) {
    let page = answer.text();
    let big: Vec<f64> = html::tags(&page)
        .unwrap()
        .iter()
        .filter(|tag| tag.get("class") == "big")
        .map(|tag| tag.text.trim().parse().unwrap())
        .collect();
    let [add, total] = big[..] else { panic!("{} large figures in: {}", big.len(), html::words(&page)) };
    (add, total)
}

/// The sheet for so much of the recipe, and the first step's screen.
async fn begun(house: &House, painted: &Painted, query: &str) -> (Answer, Answer) {
    let sheet = house.get(&format!("/cars/{}/colour/pour?recipe={}&{query}", painted.car, painted.recipe)).await;
    sheet.says(200, &["Copper 1", "scale shows", "Aluminium, coarse dull", "Binder", "Rounding to the scale"]);
    let first = house.get(&link(&sheet, "Begin, one step a screen")).await;
    (sheet, first)
}

const HALF_KILO: &str = "amount=500&unit=g&scale=0.1&least=1";

/// Presses "Poured" until everything is in.
async fn to_the_end(house: &House, mut step: Answer) -> Answer {
    for _ in 0..20 {
        let page = step.text();
        if !page.contains("Stop when the scale reads") {
            return step;
        }
        assert_eq!(html::faults(&page), Vec::<String>::new());
        step = house.get(&link(&step, "Poured")).await;
    }
    panic!("the pour never ends");
}

async fn keep(house: &House, painted: &Painted, end: &Answer, more: &[(&str, &str)]) -> Answer {
    let fields = html::filled(&end.text(), "keep");
    let form = Form::new()
        .pairs(fields.iter().map(|(name, value)| (name.as_str(), value.as_str())))
        .text("who", house.painter.id)
        .pairs(more.iter().copied());
    house.post(&format!("/cars/{}/colour/pour", painted.car), form).await
}

async fn last_batch(house: &House, painted: &Painted) -> Mixed {
    let car = house.shop.car(painted.car).await.unwrap();
    match &car.entries().last().unwrap().what {
        What::Mixed(mixed) => mixed.clone(),
        other => panic!("{}", other.say()),
    }
}

#[tokio::test]
async fn a_recipe_is_weighed_out_step_by_step_and_kept_as_a_batch() {
    let house = House::open().await;
    let painted = house.mixing_car("Pour").await;
    let (sheet, mut step) = begun(&house, &painted, HALF_KILO).await;
    assert_eq!(html::faults(&sheet.text()), Vec::<String>::new());
    let (mut sum, mut steps) = (0.0, 0);
    loop {
        step.says(
            200,
            &["Pour in", "Stop when the scale reads", "Too much went in", &format!("Step {} of 4", steps + 1)],
        );
        assert_eq!(html::faults(&step.text()), Vec::<String>::new());
        let (add, total) = figures(&step);
        sum += add;
        steps += 1;
        assert!((total - sum).abs() < 0.051, "the scale should read {sum}, and {total} is said");
        step = house.get(&link(&step, "Poured")).await;
        if steps == 4 {
            break;
        }
    }
    assert!((sum - 500.0).abs() < 1.0, "{sum} g of 500 g");
    step.says(200, &["All is in", "What went in", "Keep this batch", "Which parts of the car"]);
    assert_eq!(html::faults(&step.text()), Vec::<String>::new());
    let more = [("part", "bonnet"), ("part", "Z01.L"), ("other", "mirror"), ("retained", "Shelf 2"), ("lot-0", "L 7")];
    let kept = keep(&house, &painted, &step, &more).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let batch = last_batch(&house, &painted).await;
    assert_eq!(batch.parts_of_car, ["bonnet", "Z01.L", "mirror"]);
    assert_eq!((batch.retained.as_str(), batch.recipe, batch.into), ("Shelf 2", painted.recipe_id, None));
    assert_eq!((batch.wanted_g, batch.scale_g), (500.0, 0.1));
    assert_eq!(batch.steps[0].lot, "L 7");
    assert!((batch.poured_g() - sum).abs() < 0.01);
    let page = house.get(kept.header("location").split('#').next().unwrap()).await;
    page.says(200, &["Batch 1", "Bonnet", "Mirror", "Shelf 2", "L 7"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
}

#[tokio::test]
async fn invariant_doses_are_the_recipes_shares_to_the_step_of_the_scale() {
    let house = House::open().await;
    let painted = house.mixing_car("Shares").await;
    let (_, first) = begun(&house, &painted, HALF_KILO).await;
    let end = to_the_end(&house, first).await;
    keep(&house, &painted, &end, &[("part", "roof")]).await;
    let batch = last_batch(&house, &painted).await;
    for (toner, fraction) in FRACTIONS {
        let grams = batch.steps.iter().find(|step| step.toner == toner).unwrap().wanted_g;
        // These toners pour one to one, so a share of the film is a share of the pot; rounding for colour may take
        // the neighbouring step of the scale.
        assert!((grams - 500.0 * fraction).abs() < 0.5, "{toner}: {grams} g");
        assert!((grams * 10.0 - (grams * 10.0).round()).abs() < 1e-6, "{toner}: {grams} g on a scale of 0.1 g");
    }
}

#[tokio::test]
async fn litres_are_weighed_by_density_and_a_printed_sheet_is_kept_at_once() {
    let house = House::open().await;
    let painted = house.mixing_car("Litres").await;
    let (sheet, _) = begun(&house, &painted, "amount=0,5&unit=l&scale=0.1&least=1").await;
    let end = house.get(&link(&sheet, "It was poured from this sheet, as told")).await;
    end.says(200, &["All is in"]);
    let kept = keep(&house, &painted, &end, &[("part", "whole outside")]).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let batch = last_batch(&house, &painted).await;
    // Half a litre of these: binder at 1.1 and toners at 2.0 g/cm3 lie between the two.
    assert!(batch.wanted_g > 550.0 && batch.wanted_g < 1_000.0, "{}", batch.wanted_g);
}

#[tokio::test]
async fn what_cannot_be_weighed_is_said_at_its_field() {
    let house = House::open().await;
    let painted = house.mixing_car("Wrong").await;
    let at = |query: &str| format!("/cars/{}/colour/pour?recipe={}&{query}", painted.car, painted.recipe);
    for (query, says) in [
        ("amount=much&scale=0.1&least=1", "\"much\" was typed for the amount"),
        ("amount=0&scale=0.1&least=1", "0 g were asked for"),
        ("amount=1e12&scale=0.1&least=1", "can be weighed out at once"),
        ("amount=500&scale=0&least=1", "scale's step"),
        ("amount=500&scale=&least=1", "The scale's step is missing"),
        ("amount=500&scale=0.1&least=1&holds=NaN", "most that the pot holds"),
        ("amount=500&unit=l&scale=0.1&least=1", "can be weighed out at once"),
    ] {
        let page = house.get(&at(query)).await;
        page.says(200, &["Not kept yet", says]);
        assert_eq!(html::faults(&page.text()), Vec::<String>::new(), "{query}");
    }
    for query in ["recipe=1", "recipe=99"] {
        house.get(&format!("/cars/{}/colour/pour?{query}&{HALF_KILO}", painted.car)).await.says(404, &["no recipe"]);
    }
    house.get(&format!("/cars/{}/colour/pour?recipe=x", painted.car)).await.says(422, &["cannot be read"]);
    for went in ["k_k_k_k_k_k", "x", "-1", "1e300"] {
        let page = house.get(&at(&format!("{HALF_KILO}&at=step&went={went}"))).await;
        assert!([200, 422].contains(&page.status.as_u16()), "{went}");
        assert!(!page.text().contains("Stop when the scale reads"), "{went}");
    }
}

#[tokio::test]
async fn a_dose_under_the_smallest_says_from_which_mass_it_is_not() {
    let house = House::open().await;
    let painted = house.mixing_car("Small").await;
    // 0.4 % of 100 g is 0.4 g; from 250 g on it is a gram.
    let at = |amount: &str| {
        format!("/cars/{}/colour/pour?recipe={}&amount={amount}&scale=0.1&least=1", painted.car, painted.recipe)
    };
    let page = house.get(&at("100")).await;
    page.says(200, &["Black is under the smallest dose", "at least 250 g"]);
    assert!(!html::words(&house.get(&at("300")).await.text()).contains("smallest dose of"));
    // On a kitchen scale there is no such dose.
    house.get(&at("100").replace("scale=0.1", "scale=1")).await.says(200, &["Not kept yet", "use a finer scale"]);
}

#[tokio::test]
async fn too_much_is_brought_back_by_the_least_addition() {
    let house = House::open().await;
    let painted = house.mixing_car("Too much").await;
    let (_, mut step) = begun(&house, &painted, &format!("{HALF_KILO}&holds=900")).await;
    // Up to the copper, then half as much again of it.
    while !step.text().contains("<h1 class=\"read\">Copper mica") {
        step = house.get(&link(&step, "Poured")).await;
    }
    let (add, total) = figures(&step);
    let over = house.get(&link(&step, "Too much went in")).await;
    over.says(200, &["What does the scale read now?", &format!("{total:.1}")]);
    assert_eq!(html::faults(&over.text()), Vec::<String>::new());
    let fields = html::filled(&over.text(), "over");
    let asked = |reads: f64| {
        let mut query: Vec<String> = fields
            .iter()
            .filter(|(name, _)| name != "reads")
            .map(|(name, value)| format!("{name}={}", value.replace(' ', "%20")))
            .collect();
        query.push(format!("reads={reads:.1}"));
        format!("/cars/{}/colour/pour?{}", painted.car, query.join("&"))
    };
    house.get(&asked(total - add - 5.0)).await.says(200, &["The scale cannot read"]);
    let little = house.get(&asked(total + 0.2)).await;
    little.says(200, &["No harm done", "0.2 g too much of Copper mica", "Next step"]);
    let told = house.get(&asked(total + 0.5 * add)).await;
    told.says(200, &["It can be brought back", "g too much of Copper mica", "Bring it back"]);
    assert_eq!(html::faults(&told.text()), Vec::<String>::new());
    let mut step = house.get(&link(&told, "Bring it back")).await;
    step.says(200, &["To bring it back"]);
    // Back again leads to where it was before.
    let back = house.get(&link(&step, "Back")).await;
    assert_eq!(figures(&back), (add, total));
    step = house.get(&link(&told, "Bring it back")).await;
    let end = to_the_end(&house, step).await;
    end.says(200, &["All is in"]);
    let kept = keep(&house, &painted, &end, &[("part", "roof")]).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let batch = last_batch(&house, &painted).await;
    let held = |toner: &str| -> f64 {
        batch.steps.iter().filter(|step| step.toner == toner).map(job::mixing::Poured::grams).sum()
    };
    let copper = batch.steps.iter().find(|step| step.toner == "Copper mica").unwrap();
    assert!((copper.poured_g.unwrap() - 1.5 * add).abs() < 0.06, "what went in is kept as it was read");
    assert!(batch.poured_g() > 500.0 && batch.poured_g() <= 751.0, "{} g", batch.poured_g());
    // Left as it was, the copper would be seen; now nobody sees it.
    let shift = |grams_of: &dyn Fn(&str) -> f64| {
        let pot = FRACTIONS.map(|(toner, _)| (painted.shelf.toner(toner), grams_of(toner)));
        let all: Vec<_> = pot.into_iter().chain([(None, grams_of(job::mixing::BINDER))]).collect();
        job::colour::pour::poured(&painted.shelf, &mix(&painted.shelf, &FRACTIONS), &all).unwrap()
    };
    assert!((shift(&held).mean_de00 - batch.shift_de00).abs() < 1e-9);
    assert!(shift(&held).worst_de00 <= 0.31, "{:?}", shift(&held));
}

#[tokio::test]
async fn a_pot_that_is_too_small_to_save_says_start_again_and_why() {
    let house = House::open().await;
    let painted = house.mixing_car("Too small a pot").await;
    let (_, mut step) = begun(&house, &painted, &format!("{HALF_KILO}&holds=520")).await;
    while !step.text().contains("<h1 class=\"read\">Copper mica") {
        step = house.get(&link(&step, "Poured")).await;
    }
    let (add, total) = figures(&step);
    let over = link(&step, "Too much went in");
    let told = house.get(&format!("{over}&reads={:.1}", total + 2.0 * add)).await;
    told.says(200, &["Start again", "off"]);
    assert_eq!(html::faults(&told.text()), Vec::<String>::new());
    house.get(&link(&told, "Start again")).await.says(200, &["Begin, one step a screen"]);
}

#[tokio::test]
async fn a_dark_room_gets_a_dark_screen_without_losing_the_place() {
    let house = House::open().await;
    let painted = house.mixing_car("Dark").await;
    let (_, step) = begun(&house, &painted, HALF_KILO).await;
    let step = house.get(&link(&step, "Poured")).await;
    let dark = house.get(&link(&step, "Dark")).await;
    assert_eq!(figures(&dark), figures(&step));
    assert!(dark.text().contains("class=\"booth\"") && step.text().contains("class=\"plain\""));
    let next = house.get(&link(&dark, "Poured")).await;
    assert!(next.text().contains("class=\"booth\""));
}

#[tokio::test]
async fn a_batch_without_parts_or_person_comes_back_with_everything_typed() {
    let house = House::open().await;
    let painted = house.mixing_car("Not yet").await;
    let (sheet, _) = begun(&house, &painted, HALF_KILO).await;
    let end = house.get(&link(&sheet, "It was poured from this sheet, as told")).await;
    let before = house.count(painted.car).await;
    let refused = keep(&house, &painted, &end, &[("retained", "Shelf <2>"), ("lot-1", "L 9")]).await;
    refused.says(422, &["Not kept yet", "parts of the car"]);
    assert!(refused.text().contains("Shelf &lt;2&gt;") && refused.text().contains("L 9"));
    assert_eq!(html::faults(&refused.text()), Vec::<String>::new());
    // A form that stops half way is no batch, whatever it says.
    let fields = html::filled(&end.text(), "keep");
    let half = fields.iter().map(|(name, value)| (name.as_str(), if name == "went" { "k_k" } else { value.as_str() }));
    let form = Form::new().pairs(half).text("who", house.painter.id).pairs([("part", "roof")]);
    house.post(&format!("/cars/{}/colour/pour", painted.car), form).await.says(422, &["poured in"]);
    assert_eq!(house.count(painted.car).await, before);
    // Sent twice, it is kept once.
    let once: Vec<(&str, &str)> = vec![("part", "roof")];
    let answer = keep(&house, &painted, &end, &once).await;
    let again = keep(&house, &painted, &end, &once).await;
    assert_eq!((answer.status.as_u16(), again.status.as_u16()), (303, 303));
    assert_eq!(house.count(painted.car).await, before + 1);
}

#[tokio::test]
async fn what_is_left_of_a_batch_is_added_to() {
    let house = House::open().await;
    let painted = house.mixing_car("Addition").await;
    let batch = house.batch(&painted, &["bonnet"], "").await;
    let stronger = house.stronger(&painted).await;
    let at = |query: &str| format!("/cars/{}/colour/pour?recipe={stronger}&into={batch}&{query}", painted.car);
    house.get(&at("")).await.says(200, &["into the pot of batch 1", "Left in the pot"]);
    house.get(&at("amount=400&scale=0.1&least=1")).await.says(200, &["cannot be more than was mixed"]);
    let sheet = house.get(&at("amount=200&scale=0.1&least=0.5")).await;
    sheet.says(200, &["set it to zero", "Black"]);
    let end = house.get(&link(&sheet, "It was poured from this sheet, as told")).await;
    let kept = keep(&house, &painted, &end, &[("part", "bonnet")]).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let added = last_batch(&house, &painted).await;
    let car = house.shop.car(painted.car).await.unwrap();
    assert_eq!(added.into, car.entry(batch).map(|entry| entry.id));
    // Black goes from 0.8 to about 1.2 g in 200 g; the little that it takes of the others keeps them in step.
    let black: f64 = added.steps.iter().filter(|step| step.toner == "Black").map(job::mixing::Poured::grams).sum();
    assert!((0.3..=0.6).contains(&black), "{black} g");
    house.get(&format!("/cars/{}/colour/batches", painted.car)).await.says(200, &["added to the pot"]);
}

impl House {
    /// A recipe after the first, with half as much black again.
    async fn stronger(&self, painted: &Painted) -> u64 {
        let car = self.shop.car(painted.car).await.unwrap();
        let What::Formulated(recipe) = &car.entry(painted.recipe).unwrap().what else { panic!("no recipe") };
        let mut recipe = recipe.clone();
        recipe.name = "Copper 2".into();
        recipe.after = Some(painted.recipe_id);
        recipe.parts[2].fraction = 0.006;
        let id: EntryId = self.put(painted.car, What::Formulated(recipe)).await;
        self.shop.car(painted.car).await.unwrap().entry_by_id(id).unwrap().seq
    }
}
