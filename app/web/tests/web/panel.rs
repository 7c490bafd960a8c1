//! The turning panel: pictures of the size asked for, the bytes of an island, and what cannot be shown.

use axum::http::{Request, header};
use job::colour::preview::{Panel, SIDE};
use job::ids::{CarId, EntryId};

use crate::support::form::{Form, spectra};
use crate::support::{House, html};

async fn ready(house: &House, title: &str) -> (CarId, u64, u64) {
    let car = house.painted_car(title).await;
    let recipe = house.recipe(car).await;
    let folded = house.shop.car(car).await.unwrap();
    let target = folded.measurements().map(|(entry, _)| entry.seq).next().unwrap();
    (car, target, recipe)
}

#[tokio::test]
async fn paints_stand_on_a_panel_in_each_light_side_by_side_and_split() {
    let house = House::open().await;
    let (car, target, recipe) = ready(&house, "Turned").await;
    let page = format!("/cars/{car}/colour/panel");
    let shown = house.get(&page).await;
    shown.says(
        200,
        &[
            "2 paints on a curved panel, overcast sky",
            "Invented silver blue, measured",
            "Silver blue A, recipe",
            "Not a proof: spray a card. Texture is not shown.",
            "An ordinary screen (sRGB) can show all of it",
            "Check this screen first",
            "65 % of the screen's white",
            "shadows, sparkle and texture",
            "Mark what this screen cannot show",
            "20\u{b0} to the right",
        ],
    );
    assert_eq!(html::faults(&shown.text()), Vec::<String>::new());
    let tags = html::tags(&shown.text()).unwrap();
    let figures: Vec<_> = tags.iter().filter(|t| t.name == "figure" && t.has("data-panel")).collect();
    assert_eq!(figures.len(), 2);
    for (figure, what) in figures.iter().zip([format!("m{target}"), format!("r{recipe}")]) {
        assert!(figure.get("data-sphere").contains(&format!("what={what}&light=overcast")), "{figure:?}");
        assert_eq!(house.get(figure.get("data-sphere")).await.status, 200);
        assert_eq!(house.get(figure.get("data-mesh")).await.status, 200);
    }
    for img in tags.iter().filter(|t| t.name == "img") {
        assert!(
            img.get("alt").contains("on a curved panel, overcast sky, turned 20\u{b0} to the right, level"),
            "{img:?}"
        );
        let picture = house.get(img.get("src")).await;
        let decoded = image::load_from_memory(&picture.bytes).unwrap().into_rgb8();
        assert_eq!((decoded.width(), decoded.height()), (960, 540));
        assert_eq!((img.get("width"), img.get("height")), ("960", "540"));
    }
    // What was asked for stands in the form again.
    let query =
        format!("?what=r{recipe}&what=m{target}&light=lamp&turn=-35&tilt=5&mark=1&over=black&less=1&split=m{target}");
    let asked = house.get(&format!("{page}{query}")).await;
    asked.says(
        200,
        &[
            "One paint on a curved panel, filament lamp",
            "On each panel, left",
            "Over black",
            "With one coat less",
            "35\u{b0} to the left",
        ],
    );
    assert_eq!(html::faults(&asked.text()), Vec::<String>::new());
    let sent = html::filled(&asked.text(), "turn-it");
    for (name, value) in
        [("light", "lamp"), ("turn", "-35"), ("tilt", "5"), ("mark", "1"), ("over", "black"), ("less", "1")]
    {
        assert!(sent.iter().any(|(n, v)| n == name && v == value), "{name} is gone: {sent:?}");
    }
    let tags = html::tags(&asked.text()).unwrap();
    let figure = tags.iter().find(|t| t.name == "figure").unwrap();
    assert!(figure.has("data-mark") && figure.get("data-sphere").contains(&format!("what=m{target}&")));
    assert!(
        figure.get("data-sphere-right").contains(&format!("what=r{recipe}&"))
            && figure.get("data-sphere-right").contains("over=black&less=1")
    );
}

#[tokio::test]
async fn a_split_picture_is_two_pictures_that_meet_in_the_middle() {
    let house = House::open().await;
    let (car, target, recipe) = ready(&house, "Split").await;
    let picture = |query: String| {
        let house = &house;
        async move {
            let answer = house.get(&format!("/cars/{car}/colour/panel.png?{query}&w=160&h=90&light=sun")).await;
            assert_eq!((answer.status.as_u16(), answer.header("content-type")), (200, "image/png"));
            image::load_from_memory(&answer.bytes).unwrap().into_rgb8()
        }
    };
    let left = picture(format!("what=m{target}")).await;
    let right = picture(format!("what=r{recipe}&over=black&less=1")).await;
    let split = picture(format!("what=m{target}&with=r{recipe}&over=black&less=1")).await;
    assert_eq!(split.dimensions(), (160, 90));
    for (x, y, pixel) in split.enumerate_pixels() {
        let of = if x < 80 { &left } else { &right };
        assert_eq!(pixel, of.get_pixel(x, y), "{x}, {y}");
    }
    assert_ne!(left, right);
    assert_eq!(split.get_pixel(0, 0).0, [0x77; 3], "the ground is neutral");
}

#[tokio::test]
async fn the_bytes_for_an_island_have_the_sizes_of_their_form_and_are_known_again() {
    let house = House::open().await;
    let (car, target, _) = ready(&house, "Bytes").await;
    let mesh = house.get(&format!("/cars/{car}/colour/panel/mesh.bin")).await;
    let panel = Panel::usual();
    let word = |bytes: &[u8], at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!(mesh.header("content-type"), "application/octet-stream");
    assert_eq!((word(&mesh.bytes, 0), word(&mesh.bytes, 4)), (panel.positions.len(), 3 * panel.triangles.len()));
    assert_eq!(mesh.bytes.len(), 8 + 24 * word(&mesh.bytes, 0) + 4 * word(&mesh.bytes, 4));
    for light in ["sun", "overcast", "lamp", "tube"] {
        let address = format!("/cars/{car}/colour/panel/sphere.bin?what=m{target}&light={light}");
        let sphere = house.get(&address).await;
        assert_eq!(sphere.header("content-type"), "application/octet-stream");
        assert_eq!(word(&sphere.bytes, 0), SIDE);
        assert_eq!(sphere.bytes.len(), 8 + 28 * word(&sphere.bytes, 4) + 8 * SIDE * SIDE, "{light}");
    }
    let address = format!("/cars/{car}/colour/panel.png?what=m{target}&w=32&h=18");
    let tag = house.get(&address).await.header("etag").to_owned();
    let again = || house.ask(Request::get(&address).header(header::IF_NONE_MATCH, &tag));
    assert_eq!(again().await.status, 304);
    // Whatever the record gets, the picture may have changed with it.
    house.recipe(car).await;
    assert_eq!(again().await.status, 200);
}

#[tokio::test]
async fn what_cannot_be_shown_is_said_in_words() {
    let house = House::open().await;
    let (car, target, recipe) = ready(&house, "Cannot").await;
    let page = format!("/cars/{car}/colour/panel");
    let known = format!("what=r{recipe}");
    for (query, status, says) in [
        ("what=m999".to_owned(), 404, "no such paint"),
        (format!("what=r{target}"), 404, "no such paint"),
        ("what=x1".into(), 404, "m, b or r"),
        (format!("{known}&light=moon"), 422, "is no light of the panel"),
        (format!("{known}&turn=71"), 422, "turn 71"),
        (format!("{known}&tilt=x"), 422, "tilt x"),
        (format!("{known}&over=N99"), 422, "N99"),
    ] {
        for address in [format!("{page}?{query}"), format!("{page}.png?{query}"), format!("{page}/sphere.bin?{query}")]
        {
            house.get(&address).await.says(status, &[says]);
        }
    }
    for (query, says) in
        [("", "which paint"), ("&w=15", "16 to 1920"), ("&h=1201", "16 to 1200"), ("&w=-3", "16 to 1920")]
    {
        let what = if query.is_empty() { "" } else { known.as_str() };
        house.get(&format!("{page}.png?{what}{query}")).await.says(422, &[says]);
    }
    house.get(&format!("{page}.png?{known}&with=m999")).await.says(404, &["no such paint"]);
    house.get(&format!("{page}?split=b1")).await.says(404, &["no such paint"]);
    let names: Vec<String> = (0..7).map(|n| format!("P{n}")).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let form = Form::new().text("entry", EntryId::fresh()).text("who", house.painter.id);
    let form = form.file("file", "seven.csv", spectra(&names));
    assert_eq!(house.post(&format!("/cars/{car}/colour"), form).await.status, 303);
    let seven: String = (1..=7).map(|n| format!("what=m{}&", recipe + n)).collect();
    house.get(&format!("{page}?{seven}")).await.says(422, &["7 paints were picked", "at most 6"]);
    let other = house.car("Nothing yet").await;
    house
        .get(&format!("/cars/{other}/colour/panel"))
        .await
        .says(200, &["There is no paint to show yet", "Import a measurement"]);
    house.get(&format!("/cars/{other}/colour/panel.png?{known}")).await.says(404, &["no such paint"]);
    // A form sends what was left as it is as empty fields.
    house.get(&format!("{page}?what=&split=&over=&light=&turn=")).await.says(200, &["paints on a curved panel"]);
}
