//! A brief: shown before it is kept, kept with why, followed by how near the toners come, and by recipes for it.

use std::io::Cursor;

use job::ids::{CarId, EntryId};
use job::mixing::Wanted;
use job::person::Role;
use job::what::What;

use crate::support::form::{Form, jpeg, spectra};
use crate::support::{Answer, House, html};

/// A car with some angles of an invented paint.
async fn measured(house: &House, title: &str, angles: &[&str]) -> (CarId, u64) {
    let car = house.car(title).await;
    let text = spectra(&["Invented blue"]);
    let wanted =
        |line: &&str| line.starts_with("name") || angles.iter().any(|angle| line.contains(&format!(",{angle},")));
    let some: String = text.lines().filter(wanted).map(|line| format!("{line}\n")).collect();
    let form = Form::new().text("entry", EntryId::fresh()).text("who", house.painter.id).file("file", "m.csv", some);
    let answer = house.post(&format!("/cars/{car}/colour"), form).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
    (car, 2)
}

fn keep(house: &House) -> Form {
    Form::new().text("entry", EntryId::fresh()).text("who", house.painter.id)
}

impl House {
    /// Keeps a brief of a car's latest paint; gives its place in the record.
    pub(crate) async fn brief(&self, car: CarId) -> u64 {
        let kept = self.post(&format!("/cars/{car}/colour/brief"), keep(self).text("want", "quieter")).await;
        assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
        kept.header("location").rsplit_once("kept=").unwrap().1.parse().unwrap()
    }
}

/// The pairs of a page: how many splits it draws.
fn splits(page: &Answer) -> usize {
    html::tags(&page.text()).unwrap().into_iter().filter(|t| t.name == "rect" && t.get("x") == "42").count()
}

#[tokio::test]
async fn a_brief_is_shown_changed_kept_and_followed_to_a_recipe() {
    let house = House::open().await;
    let car = house.painted_car("Meant").await;
    let page = format!("/cars/{car}/colour/brief");
    let plain = house.get(&page).await;
    plain.says(
        200,
        &[
            "Donor left, wish right",
            "Overcast day",
            "Filament lamp",
            "Shop tube",
            "Keep the face",
            "Each angle by hand",
            "Show it",
            "Why, for the record",
            "Keep this brief",
            "Not a proof: spray a card. Texture is not shown.",
        ],
    );
    assert_eq!(html::faults(&plain.text()), Vec::<String>::new());
    let query = "donor=3&want=keep-face&want=less-flop-colour&much-less-flop-colour=0.5&dl_110=3&w_45=0";
    let asked = house.get(&format!("{page}?{query}&why=at+dusk")).await;
    asked.says(200, &["Keep the", "3 lighter", "at dusk"]);
    assert_eq!(html::faults(&asked.text()), Vec::<String>::new());
    assert_eq!(splits(&asked), 18, "six angles under three lights");
    let sent = html::filled(&asked.text(), "brief");
    for (name, value) in [
        ("want", "less-flop-colour"),
        ("much-less-flop-colour", "0.5"),
        ("dl_110", "3"),
        ("w_45", "0"),
        ("why", "at dusk"),
    ] {
        assert!(sent.iter().any(|(n, v)| n == name && v == value), "{name} is gone: {sent:?}");
    }
    // The wish stands on the panel before it is kept.
    let tags = html::tags(&asked.text()).unwrap();
    let wish = tags.iter().find(|t| t.name == "img" && t.get("src").contains("what=wish")).unwrap();
    assert_eq!(house.get(wish.get("src")).await.header("content-type"), "image/png");
    let figure = tags.iter().find(|t| t.get("data-sphere").contains("what=wish")).unwrap();
    assert_eq!(house.get(figure.get("data-sphere")).await.status, 200);
    assert_eq!(house.count(car).await, 3, "nothing is kept unasked");

    let form = keep(&house).pairs([
        ("donor", "3"),
        ("want", "keep-face"),
        ("want", "less-flop-colour"),
        ("much-less-flop-colour", "0.5"),
        ("dl_110", "3"),
        ("w_45", "0"),
        ("name", "Blue without the side"),
        ("why", "at dusk it turns"),
    ]);
    let kept = house.post(&page, form.clone()).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    assert_eq!(kept.header("location"), format!("{page}/4?kept=4"));
    assert_eq!(house.post(&page, form).await.status, 303);
    assert_eq!(house.count(car).await, 4, "sent twice, kept once");
    let folded = house.shop.car(car).await.unwrap();
    let What::Briefed(briefed) = &folded.entry(4).unwrap().what else { panic!("no brief") };
    assert_eq!(
        briefed.words.iter().map(|said| said.what).collect::<Vec<_>>(),
        [Wanted::KeepFace, Wanted::LessFlopColour]
    );
    assert!(briefed.brief.edits.iter().any(|edit| edit.geometry == "45as110" && edit.dl > 0.0), "{briefed:?}");
    assert_eq!(briefed.brief.weights.len(), 1);
    let one = house.get(&format!("{page}/4?kept=4")).await;
    one.says(
        200,
        &[
            "Kept as entry 4",
            "Blue without the side",
            "at dusk it turns",
            "Invented silver blue",
            "How near can we get",
            "Make another from it",
            "Look for recipes",
            "On the panel",
        ],
    );
    assert_eq!(html::faults(&one.text()), Vec::<String>::new());
    assert_eq!(splits(&one), 18);
    // Made into another, it says the same again.
    let tags = html::tags(&one.text()).unwrap();
    let again = tags.iter().map(|t| t.get("href")).find(|href| href.contains("colour/brief?")).unwrap().to_owned();
    for field in ["want=keep-face", "much-less-flop-colour=0.5", "dl_110=3", "w_45=0"] {
        assert!(again.contains(field), "{field} is not in {again}");
    }
    let listed = house.get(&page).await;
    listed.says(200, &["Kept briefs", "Blue without the side", "from Invented silver blue"]);
    house.get(&format!("/cars/{car}/colour/panel")).await.says(200, &["Blue without the side, as it is wished for"]);

    let work = house.begin(&format!("{page}/near"), Form::new().text("brief", 4)).await;
    let found = house.done(&work).await;
    found.says(
        200,
        &[
            "How near can we get",
            "Of the wish",
            "nothing: the donor",
            "three quarters",
            "up to 2 toners",
            "What is left at each angle",
            "Wish left, recipe right",
            "Would it have looked right in 1968?",
            "Keep this recipe",
        ],
    );
    assert_eq!(html::faults(&found.text()), Vec::<String>::new());
    let lines = html::tags(&found.text())
        .unwrap()
        .into_iter()
        .filter(|t| t.name == "path" && ["reach", "wish"].contains(&t.get("class")))
        .count();
    assert_eq!(lines, 3, "two, three and four toners");
    let kept = house.keep_work(&work, &[("name", "Nearest"), ("recipe", "0")]).await;
    house
        .get(&kept)
        .await
        .says(200, &["For the brief", "Blue without the side", "Would it have looked right in 1968?", "Advice only"]);
    let folded = house.shop.car(car).await.unwrap();
    let What::Formulated(recipe) = &folded.entry(5).unwrap().what else { panic!("no recipe") };
    assert_eq!(recipe.briefed, Some(folded.entry(4).unwrap().id));
    house.get(&format!("{page}/4")).await.says(200, &["Recipes found for it", "Nearest"]);

    // A search starts from a brief as well as from a measurement, but not from both sorts of changes.
    let recipes = format!("/cars/{car}/colour/recipes");
    house
        .get(&format!("{recipes}?target=4"))
        .await
        .says(200, &["Which paint, or which brief?", "Only what there was in 1968"]);
    house
        .post(&recipes, Form::new().text("target", 4).text("dl_45", 5))
        .await
        .says(422, &["changes were typed beside it"]);
    let work = house.begin(&recipes, Form::new().text("target", 4).text("size", 2).text("only_then", 1)).await;
    house.done(&work).await.says(200, &["Blue without the side", "1968"]);
}

#[tokio::test]
async fn how_near_can_be_asked_before_anything_is_kept() {
    let house = House::open().await;
    let car = house.painted_car("Asked").await;
    let page = format!("/cars/{car}/colour/brief");
    let form = Form::new().pairs([("donor", "3"), ("dc_45", "60"), ("dh_45", "120")]);
    let work = house.begin(&format!("{page}/near"), form).await;
    let found = house.done(&work).await;
    found.says(200, &["Not reachable with these toners", "What is missing", "How near can we get"]);
    let kept = house.keep_work(&work, &[("name", "Nearest"), ("recipe", "0")]).await;
    house.get(&kept).await.says(200, &["changed:"]);
    // Without toners the page says so, and what was typed is still there.
    let (bare, _) = measured(&house, "No toners", &["45as15", "45as45", "45as110"]).await;
    let near = format!("/cars/{bare}/colour/brief/near");
    house
        .post(&near, Form::new().pairs([("donor", "2"), ("dl_45", "4")]))
        .await
        .says(422, &["Learn them first", "4 lighter"]);
    house.post(&near, Form::new().text("brief", 99)).await.says(404, &["brief"]);
    let nothing = house.car("Nothing").await;
    house
        .get(&format!("/cars/{nothing}/colour/brief"))
        .await
        .says(200, &["No paint has been measured", "Import a measurement"]);
    house
        .post(&format!("/cars/{nothing}/colour/brief"), keep(&house))
        .await
        .says(422, &["no measured paint to start from"]);
}

/// The curve stands beside the form while the brief is changed: begun once for each wish, and given up for the next.
#[tokio::test]
async fn the_curve_follows_the_form() {
    let house = House::open().await;
    let car = house.painted_car("Followed").await;
    let page = |dl: &str| format!("/cars/{car}/colour/brief?donor=3&near=1&dl_45={dl}");
    let first = house.get(&page("9")).await;
    first.says(200, &["How near can we get"]);
    let shown = |page: &str| page.contains("class=\"plot curve\"");
    let later = house.get(&page("4")).await;
    assert!(shown(&later.text()) || later.text().contains("data-again=\"1\""), "the curve, or how far it is");
    house.until(&page("4"), shown).await;
    assert!(shown(&house.get(&page("4")).await.text()), "and is not worked out again");
    // It is worked out for those who asked to see it.
    assert!(!house.get(&format!("/cars/{car}/colour/brief?donor=3&dl_45=4")).await.text().contains("data-again"));
}

#[tokio::test]
async fn a_paint_known_at_few_angles_says_what_is_not_known() {
    let house = House::open().await;
    for (angles, missing) in
        [(&["45as15", "45as45", "45as110"][..], "75\u{b0}"), (&["45as15", "45as45"][..], "110\u{b0} flop")]
    {
        let (car, donor) = measured(&house, "Few angles", angles).await;
        let page = format!("/cars/{car}/colour/brief");
        let shown = house.get(&format!("{page}?donor={donor}&want=less-flop-colour&want=lift-flop&want=quieter")).await;
        shown.says(200, &["Not known", missing]);
        assert_eq!(html::faults(&shown.text()), Vec::<String>::new());
        assert_eq!(splits(&shown), 3 * angles.len());
        let sliders = html::tags(&shown.text()).unwrap().into_iter().filter(|t| t.get("type") == "range").count();
        assert_eq!(sliders, 3 * angles.len(), "only what was measured can be changed");
        // A change at an angle that nobody measured is refused at its place.
        house.get(&format!("{page}?donor={donor}&dl_75=3")).await.says(422, &["75"]);
        let kept = house.post(&page, keep(&house).pairs([("donor", "2"), ("want", "quieter")])).await;
        assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    }
}

#[tokio::test]
async fn the_flop_of_another_paint_is_taken() {
    let house = House::open().await;
    let (car, _) = measured(&house, "Two", &["45as15", "45as45"]).await;
    let form = keep(&house).file("file", "m.csv", spectra(&["Another"]));
    assert_eq!(house.post(&format!("/cars/{car}/colour"), form).await.status, 303);
    let page = format!("/cars/{car}/colour/brief");
    let shown = house.get(&format!("{page}?donor=2&flop_of=3")).await;
    shown.says(200, &["take the flop of", "Another, entry 3"]);
    assert!(splits(&shown) > 6, "the flop is lent");
    assert_eq!(html::faults(&shown.text()), Vec::<String>::new());
    house.get(&format!("{page}?donor=2&flop_of=99")).await.says(422, &["No measured paint of this car was chosen"]);
    let kept = house.post(&page, keep(&house).pairs([("donor", "2"), ("flop_of", "3")])).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    house.get(kept.header("location")).await.says(200, &["Its flop is that of", "Another"]);
}

#[tokio::test]
async fn the_impossible_is_pulled_back_and_nonsense_is_refused_with_everything_still_there() {
    let house = House::open().await;
    let car = house.painted_car("Impossible").await;
    let page = format!("/cars/{car}/colour/brief");
    let shown = house.get(&format!("{page}?donor=3&dl_45=-150&dc_15=190")).await;
    shown.says(200, &["Doubtful", "no surface like this one has", "short of the wish by"]);
    assert_eq!(html::faults(&shown.text()), Vec::<String>::new());
    for (query, says) in [
        ("want=lose-everything", "is no word of a brief"),
        ("want=quieter&much-quieter=7", "\"7\" was asked of"),
        ("dl_45=much", "\"much\" was typed for the lightness at 45"),
        ("dc_15=900", "must be -200 to 200"),
        ("w_45=-1", "to count -1 times"),
        ("w_45=NaN", "Type a number"),
    ] {
        let answer = house.get(&format!("{page}?donor=3&why=because&dh_75=1.5&{query}")).await;
        answer.says(422, &["Not kept yet", says, "because"]);
        assert!(answer.text().contains("value=\"1.5\""), "{query}: what was typed is gone");
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{query}");
        house.get(&format!("{page}?donor=3&{query}")).await.says(422, &[says]);
        house.get(&format!("/cars/{car}/colour/panel.png?what=wish&donor=3&{query}")).await.says(422, &[]);
    }
    for address in ["?donor=999", "?donor=x", "/3", "/999", "/x"] {
        assert_eq!(house.get(&format!("{page}{address}")).await.status, 404, "{address}");
    }
    house
        .post(&page, Form::new().pairs([("donor", "3"), ("why", "because")]))
        .await
        .says(422, &["Pick who is writing", "because"]);
    house.post(&page, keep(&house).pairs([("donor", "999")])).await.says(404, &["measured paint"]);
    let long = "x".repeat(300);
    house.post(&page, keep(&house).pairs([("donor", "3"), ("name", long.as_str())])).await.says(422, &["Not kept yet"]);
    assert_eq!(house.count(car).await, 3);
}

#[tokio::test]
async fn who_may_not_write_keeps_nothing() {
    let house = House::locked().await;
    let car = house.car_as_lead("Locked").await;
    let owner = house.session(&house.owner, Role::Owner, jiff::SignedDuration::from_hours(1)).await;
    for path in ["brief", "brief/near", "picture"] {
        let address = format!("/cars/{car}/colour/{path}");
        assert_eq!(house.post_as(&owner, &address, keep(&house)).await.status, 403, "{path}");
        assert_eq!(house.post(&address, keep(&house)).await.status, 401, "{path}");
    }
    for path in ["brief", "panel", "panel.png?what=m1", "panel/sphere.bin?what=m1", "panel/mesh.bin"] {
        assert_eq!(house.get(&format!("/cars/{car}/colour/{path}")).await.status, 303, "{path}");
    }
}

/// A picture of one colour.
fn of_one(code: u8) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    image::RgbImage::from_pixel(80, 60, image::Rgb([code; 3])).write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

#[tokio::test]
async fn areas_of_a_picture_are_a_paint_to_start_from_and_no_measurement() {
    let house = House::open().await;
    let car = house.car("From a picture").await;
    let take = format!("/cars/{car}/colour/picture");
    let begun = house.post(&take, Form::new().file("photo", "dusk.jpg", jpeg(320, 200))).await;
    assert_eq!(begun.status, 303, "{}", html::words(&begun.text()));
    let page = begun.header("location").to_owned();
    let first = house.get(&page).await;
    first.says(200, &["A picture is not a measurement", "Touch the paint", "Flop", "How large an area?"]);
    assert_eq!(html::faults(&first.text()), Vec::<String>::new());
    let tags = html::tags(&first.text()).unwrap();
    let image = tags.iter().find(|t| t.get("type") == "image").unwrap();
    assert_eq!((image.get("width"), image.get("height")), ("340", "213"));
    let jpeg = house.get(image.get("src")).await;
    assert_eq!((jpeg.status.as_u16(), jpeg.header("content-type")), (200, "image/jpeg"));
    let once = house.get(&format!("{page}&place=face&size=small&at.x=500&at.y=100")).await;
    once.says(200, &["What was touched", "Face:", "pixels, spread", "Keep these areas"]);
    assert_eq!(html::faults(&once.text()), Vec::<String>::new());
    let spot = "&face=0.7821,0.2513,0.02&flop=0.2,0.8,0.02";
    let twice = house.get(&format!("{page}{spot}")).await;
    twice.says(200, &["Face:", "Flop:"]);
    let (address, fields) = page.split_once('?').unwrap();
    let pairs: Vec<(&str, &str)> =
        fields.split('&').chain(spot.trim_start_matches('&').split('&')).filter_map(|p| p.split_once('=')).collect();
    let form = pairs.iter().fold(keep(&house), |form, (name, value)| form.text(name, value));
    let kept = house.post(address, form.clone().text("name", "Seen at dusk").text("note", "a neighbour's")).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    house.get(kept.header("location")).await.says(200, &["A picture is not a measurement", "Seen at dusk"]);
    let folded = house.shop.car(car).await.unwrap();
    let What::Measured(measured) = &folded.entry(2).unwrap().what else { panic!("no paint") };
    assert!(measured.is_picture() && measured.areas.len() == 2 && measured.note == "a neighbour's");
    house
        .get(&format!("/cars/{car}/colour/brief?want=quieter"))
        .await
        .says(200, &["A picture is not a measurement", "Seen at dusk, from a picture"]);
    house.get(&format!("/cars/{car}/colour/panel")).await.says(200, &["which is not a measurement"]);
    house.post(address, form_without_who(&pairs)).await.says(422, &["Pick who is writing"]);
}

fn form_without_who(pairs: &[(&str, &str)]) -> Form {
    pairs.iter().fold(Form::new(), |form, (name, value)| form.text(name, value))
}

#[tokio::test]
async fn a_picture_that_holds_no_colour_is_said_so_and_nothing_is_kept() {
    let house = House::open().await;
    let car = house.car("Dark").await;
    let take = format!("/cars/{car}/colour/picture");
    let begun = house.post(&take, Form::new().file("photo", "black.png", of_one(0))).await;
    let page = begun.header("location").to_owned();
    let black = house.get(&format!("{page}&place=face&at.x=10&at.y=10")).await;
    black.says(422, &["black", "Touch another place"]);
    assert_eq!(html::faults(&black.text()), Vec::<String>::new());
    let (address, _) = page.split_once('?').unwrap();
    house.post(address, keep(&house).text("face", "0.5,0.5,0.02")).await.says(422, &["black"]);
    house.post(address, keep(&house)).await.says(422, &["o area of the picture was sampled"]);
    for (query, says) in
        [("face=1,2", "what was touched"), ("face=9,0.5,0.02", "must be 0 to 1"), ("w=0", "how large the picture is")]
    {
        house.get(&format!("{address}?{query}")).await.says(422, &[says]);
    }
    for (name, bytes) in [("words.jpg", b"no picture".to_vec()), ("half.png", of_one(90)[..40].to_vec())] {
        house
            .post(&take, Form::new().file("photo", name, bytes))
            .await
            .says(422, &["Not kept yet", "read as a picture"]);
    }
    house.post(&take, Form::new()).await.says(422, &["No picture came with it"]);
    let csv = house.shop.keep_file(b"name,geometry").await.unwrap();
    for hash in [csv.to_string(), "0".repeat(64)] {
        house.get(&format!("{take}/{hash}")).await.says(404, &["picture"]);
        house.get(&format!("{take}/{hash}/picture.jpg")).await.says(404, &["picture"]);
    }
    assert_eq!(house.count(car).await, 1);
}
