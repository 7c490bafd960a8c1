//! Recipes: searched for in the background, shown side by side, kept, and given out as a file.

use job::ids::{CarId, EntryId};
use job::what::What;

use crate::support::form::Form;
use crate::support::{House, html};

async fn target(house: &House, car: CarId) -> u64 {
    house.shop.car(car).await.unwrap().measurements().map(|(entry, _)| entry.seq).next().unwrap()
}

#[tokio::test]
async fn a_recipe_is_found_compared_kept_and_given_out() {
    let house = House::open().await;
    let car = house.painted_car("Silver").await;
    let page = format!("/cars/{car}/colour/recipes");
    let form = house.get(&page).await;
    form.says(
        200,
        &[
            "No recipe has been kept",
            "Invented silver blue",
            "whichever serves best",
            "Toners out of stock",
            "leaf blue",
        ],
    );
    assert_eq!(html::faults(&form.text()), Vec::<String>::new());
    let target = target(&house, car).await;
    let work = house.begin(&page, Form::new().text("target", target).text("size", 3)).await;
    let found = house.done(&work).await;
    found.says(
        200,
        &[
            "Wish left, recipe right",
            "Overcast day",
            "Filament lamp",
            "Shop tube",
            "Share of the dry film",
            "What a slip does",
            "0.5 g more or less of",
            "Not a proof: spray a card. Texture is not shown.",
            "Keep this recipe",
        ],
    );
    assert_eq!(html::faults(&found.text()), Vec::<String>::new());
    assert_eq!(house.count(car).await, 3, "nothing is kept unasked");
    let wrong = Form::new().text("entry", EntryId::fresh()).text("who", house.painter.id).text("recipe", 99);
    house.post(&format!("{work}/keep"), wrong).await.says(422, &["No recipe was picked"]);
    let kept = house.keep_work(&work, &[("name", "Silver A"), ("recipe", "0"), ("note", "first try")]).await;
    let shown = house.get(&kept).await;
    shown.says(
        200,
        &[
            "Silver A",
            "Kept as entry 4",
            "first try",
            "Wish left, recipe right",
            "Invented silver blue",
            "Test toners",
            "Not a proof",
            "How it came about",
        ],
    );
    assert_eq!(html::faults(&shown.text()), Vec::<String>::new());
    for to in [format!("/cars/{car}/colour/pour?recipe=4"), format!("/cars/{car}/colour/cards?recipe=4")] {
        assert!(shown.text().contains(&to), "{to}");
    }
    let folded = house.shop.car(car).await.unwrap();
    let What::Formulated(recipe) = &folded.entry(4).unwrap().what else { panic!("no recipe") };
    assert!(recipe.parts.len() <= 3 && recipe.mean_de00 < 1.0, "{recipe:?}");
    let file = house.get(&format!("/cars/{car}/colour/recipes/4/recipe.json")).await;
    let (read, doubts) = job::recipe_file::read("RECIPE.json", &file.bytes).unwrap();
    // A file of names is read in the order of the alphabet.
    let mut fractions: Vec<(String, f64)> = recipe.parts.iter().map(|p| (p.toner.clone(), p.fraction)).collect();
    fractions.sort_by(|a, b| a.0.cmp(&b.0));
    assert_eq!((read[0].fractions.clone(), doubts.len()), (fractions, 0));
    assert!(file.header("content-disposition").contains("RECIPE.json"));
    house.get(&page).await.says(200, &["One colour has a recipe", "Silver A", "for Invented silver blue"]);
    // Another car knows nothing of it, and an entry that is no recipe is none.
    let other = house.car("Another").await;
    house.get(&format!("/cars/{other}/colour/recipes/4")).await.says(404, &["recipe"]);
    house.get(&format!("{page}/2")).await.says(404, &["recipe"]);
    house.get(work.replace(&car.to_string(), &other.to_string()).as_str()).await.says(404, &["not here any more"]);
}

#[tokio::test]
async fn what_cannot_be_asked_of_a_search_is_said_at_its_field_with_everything_still_there() {
    let house = House::open().await;
    let car = house.painted_car("Asks").await;
    let page = format!("/cars/{car}/colour/recipes");
    let target = target(&house, car).await.to_string();
    for (field, value, says) in [
        ("target", "999", "No measured paint was chosen"),
        ("size", "7", "Choose 1 to 6"),
        ("primer", "N99", "The primer \"N99\" is not on the shelf"),
        ("out", "unheard-of pink", "\"unheard-of pink\" is not on the shelf"),
        ("dl_45", "much", "\"much\" was typed for the lightness at 45"),
        ("dl_110", "-99", "ask for less"),
        ("dc_15", "900", "must be -200 to 200"),
    ] {
        let mut form = Form::new().text("dh_75", "1.5");
        if field != "target" {
            form = form.text("target", &target);
        }
        let answer = house.post(&page, form.text(field, value)).await;
        answer.says(422, &["Not kept yet", says]);
        assert!(answer.text().contains("value=\"1.5\""), "{field}: what was typed is gone");
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{field}");
    }
    // Every toner out of stock: the search itself says so, and leads back.
    let all = ["plain white", "jet black", "leaf blue", "coarse aluminium"];
    let form = all.iter().fold(Form::new().text("target", &target), |form, name| form.text("out", name));
    let work = house.begin(&page, form).await;
    house.done(&work).await.says(200, &["No toner may be used", "Nothing was kept", "Back to the form"]);
    assert_eq!(house.count(car).await, 3);
}

#[tokio::test]
async fn a_colour_that_the_shelf_cannot_make_is_said_plainly() {
    let house = House::open().await;
    let car = house.painted_car("Out of reach").await;
    let form =
        Form::new().text("target", target(&house, car).await).text("dc_45", 60).text("dh_45", 120).text("size", 2);
    let work = house.begin(&format!("/cars/{car}/colour/recipes"), form).await;
    let found = house.done(&work).await;
    found.says(200, &["Not reachable with these toners", "Nothing on the shelf is", "changed as asked"]);
    let kept = house.keep_work(&work, &[("name", "Nearest"), ("recipe", "0")]).await;
    house.get(&kept).await.says(200, &["changed:", "stronger by 60.0", "hue turned by 120\u{b0}"]);
}

#[tokio::test]
async fn without_toners_or_a_paint_the_page_leads_to_them() {
    let house = House::open().await;
    let car = house.car("Nothing yet").await;
    let page = format!("/cars/{car}/colour/recipes");
    house.get(&page).await.says(200, &["none are known for this car yet", "Learn the toners"]);
    house.post(&page, Form::new().text("target", 1)).await.says(422, &["Learn them first"]);
    let work_of_nobody = format!("/cars/{car}/colour/work/{}", EntryId::fresh());
    house
        .get(&work_of_nobody)
        .await
        .says(404, &["not here any more", "Look for recipes again", "the record is as it was"]);
}
