//! The colour the owner means, decided by a day: asked from kept recipes, shown, answered, and then the car's colour.

use std::sync::Arc;

use job::car::Car;
use job::colour::Bench;
use job::ids::{CarId, EntryId};
use job::mixing::{Carded, Formulated, RecipePart, Said, Wanted};
use job::paintwork::briefs::{Briefing, tell};
use job::paintwork::decided::{Since, car_colour, colour_waits};
use job::paintwork::{self, engine};
use job::question::{AnswerWay, Standing};
use job::what::What;

use crate::support::form::{self, Form};
use crate::support::mixing::mix;
use crate::support::owner::{Fields, as_form, field, question, with};
use crate::support::{Answer, House, html};

/// What an owner's page costs on first load may not be more than this.
const FIRST_LOAD: usize = 300_000;

async fn car_of(house: &House, id: CarId) -> Arc<Car> {
    house.shop.car(id).await.unwrap()
}

#[track_caller]
fn whole(answer: &Answer) {
    assert_eq!(html::faults(&answer.text()), Vec::<String>::new());
}

fn day(days: i32) -> jiff::civil::Date {
    jiff::Zoned::now().with_time_zone(jiff::tz::TimeZone::UTC).date().checked_add(jiff::Span::new().days(days)).unwrap()
}

/// A car with four recipes, all but the first from a brief, and a card of the first one.
struct Asked {
    car: CarId,
    recipes: Vec<EntryId>,
    donor: u64,
    brief: u64,
}

async fn ready(house: &House, title: &str) -> Asked {
    let painted = house.mixing_car(title).await;
    let car = painted.car;
    let record = car_of(house, car).await;
    let (donor, shelf) = (paintwork::targets(&record)[0].0, paintwork::shelves(&record)[0].0);
    let briefing = Briefing {
        name: "Copper, quieter".into(),
        donor: donor.id,
        words: vec![Said { what: Wanted::Quieter, how_much: 0.5 }],
        face_of: None,
        flop_of: None,
        by_hand: Vec::new(),
        weights: Vec::new(),
        why: "Seen on a gate, but too loud".into(),
        note: String::new(),
    };
    let briefed = tell(&record, &briefing).unwrap().briefed;
    let brief = house.put(car, What::Briefed(briefed)).await;
    let bench = Bench::new(&painted.shelf);
    let mut recipes = vec![painted.recipe_id];
    for (n, black) in [0.002, 0.01, 0.03].into_iter().enumerate() {
        let parts = [("Aluminium, coarse dull", 0.2), ("Copper mica", 0.05), ("Black", black)];
        let predicted = engine::spectra(&bench.predict(&mix(&painted.shelf, &parts)));
        let part = |(toner, fraction): (&str, f64)| RecipePart { toner: toner.into(), fraction };
        let record = car_of(house, car).await;
        let (_, first) = paintwork::recipes(&record)[0];
        let recipe = Formulated {
            name: format!("Copper {}", n + 2),
            briefed: Some(brief),
            parts: parts.map(part).to_vec(),
            predicted,
            mean_de00: 2.0,
            target: donor.id,
            shelf: shelf.id,
            ..first.clone()
        };
        recipes.push(house.put(car, What::Formulated(recipe)).await);
    }
    let (donor, brief) = (donor.seq, car_of(house, car).await.entry_by_id(brief).unwrap().seq);
    let asked = Asked { car, recipes, donor, brief };
    asked.card(house, 0, "Card of copper 1").await;
    asked
}

impl Asked {
    async fn card(&self, house: &House, recipe: usize, name: &str) -> EntryId {
        let record = car_of(house, self.car).await;
        let (_, of) = paintwork::recipe_of(&record, self.recipes[recipe]).unwrap();
        let card = Carded {
            name: name.into(),
            recipe: self.recipes[recipe],
            batch: None,
            instrument: String::new(),
            file: "card.csv".into(),
            source: house.shop.keep_file(b"card").await.unwrap(),
            spectra: of.predicted.clone(),
            coats: 3,
            film_um: None,
            gun: String::new(),
            master: Some("drawer 2".into()),
            doubts: Vec::new(),
            note: String::new(),
        };
        house.put(self.car, What::Carded(card)).await
    }

    async fn seq(&self, house: &House, recipe: usize) -> u64 {
        car_of(house, self.car).await.entry_by_id(self.recipes[recipe]).unwrap().seq
    }

    /// The form of the question as it stands, with these recipes ticked and the lead as the one who writes.
    async fn form(&self, house: &House, recipes: &[usize]) -> Fields {
        let page = house.get(&format!("/cars/{}/colour/ask", self.car)).await;
        assert_eq!(page.status, 200, "{}", html::words(&page.text()));
        whole(&page);
        let mut fields = with(&html::filled(&page.text(), "ask-form"), "who", &house.lead.id.to_string());
        fields.retain(|(name, _)| name != "recipe");
        fields.extend(recipes.iter().map(|n| ("recipe".to_owned(), self.recipes[*n].to_string())));
        fields
    }

    async fn send_form(&self, house: &House, fields: &Fields) -> Answer {
        house.post(&format!("/cars/{}/colour/ask", self.car), as_form(fields)).await
    }

    /// Drafts a question about these recipes and sends it.
    async fn sent(&self, house: &House, recipes: &[usize]) {
        let fields = with(&self.form(house, recipes).await, "serves", "Left door, 2027-03-02\nBonnet");
        let kept = self.send_form(house, &fields).await;
        assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
        let number = car_of(house, self.car).await.threads().len();
        let kept = self.change(house, number, &[("do", "send")]).await;
        assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    }

    /// Sends the form of a question with some of its fields changed.
    async fn change(&self, house: &House, number: usize, changes: &[(&str, &str)]) -> Answer {
        let page = house.get(&format!("/cars/{}/questions/new?corrects={number}", self.car)).await;
        whole(&page);
        let mut fields = with(&html::filled(&page.text(), "question-form"), "who", &house.lead.id.to_string());
        for (name, value) in changes {
            fields = with(&fields, name, value);
        }
        house.post(&format!("/cars/{}/questions", self.car), as_form(&fields)).await
    }
}

#[tokio::test]
async fn a_colour_is_asked_shown_answered_and_is_then_the_cars_colour() {
    let house = House::open().await;
    let asked = ready(&house, "Copper coupe").await;
    let (car, sheets) = (asked.car, format!("/cars/{}", asked.car));
    for path in ["/coats", "/colour/pour", "/colour/batches", "/range"] {
        let page = house.get(&format!("{sheets}{path}")).await;
        assert!(!page.text().contains("Waits for the colour"), "{path}");
    }
    house.get(&format!("{sheets}/colour/decided")).await.says(200, &["It is not decided", "Ask the owner"]);
    let page = house.get(&format!("{sheets}/colour/ask")).await;
    page.says(
        200,
        &[
            "Copper 1",
            "Copper 4",
            "Card of copper 1",
            "No card has been sprayed of it",
            "Mixing the colour for the outside",
            "Draft the question",
        ],
    );
    let tags = html::tags(&page.text()).unwrap();
    let picture = tags.iter().find(|t| t.name == "img").unwrap();
    assert_eq!(house.get(picture.get("src")).await.header("content-type"), "image/png");

    let by = day(12);
    let fields = with(&asked.form(&house, &[0, 1, 2]).await, "by", &by.to_string());
    let fields = with(&fields, "serves", "Outer sill, left, 2027-03-02\nBonnet");
    let kept = asked.send_form(&house, &fields).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let draft = house.get(kept.header("location")).await;
    draft.says(
        200,
        &[
            "A draft. The owner has not seen it.",
            "Which of these colours shall the car have?",
            "The paint that was liked",
            "Invented copper",
            "Sun, face",
            "Overcast sky, flop",
            "Not a proof: spray a card.",
            "A card was sprayed: Card of copper 1.",
            "No card has been sprayed yet.",
            "Outer sill, left, 2 March 2027",
            "Bonnet, day not fixed",
        ],
    );
    whole(&draft);
    assert!(!draft.text().contains(">0 hours"), "a recipe makes no difference in hours");
    let waits = format!(
        "Waits for the colour: question 1, to be decided by {} (12 days left); the owner has not been asked yet",
        by.strftime("%-d %B %Y")
    );
    house.get(&format!("{sheets}/coats")).await.says(200, &[&waits]);

    // Every word can be changed, an option left out, and it is sent like any other.
    let changed =
        [("title_c", ""), ("means_c", ""), ("risks_c", ""), ("title_b", "The quiet one <b>"), ("do", "preview")];
    let preview = asked.change(&house, 1, &changed).await;
    preview.says(200, &["As the owner will read it", "B. The quiet one <b>"]);
    whole(&preview);
    assert!(!html::words(&preview.text()).contains("C. Copper 3"));
    let changed: Vec<_> = changed.into_iter().filter(|(name, _)| *name != "do").chain([("do", "send")]).collect();
    assert_eq!(asked.change(&house, 1, &changed).await.status, 303);
    let record = car_of(&house, car).await;
    let threads = record.threads();
    let (_, sent) = threads[0].asked().unwrap();
    assert_eq!((sent.options.len(), sent.zones.len(), threads[0].standing()), (2, 0, Standing::Open));
    assert_eq!(sent.serves[0].part, "Z01.L", "a zone stays one through words");
    for path in ["/coats", "/colour/pour", "/colour/batches", "/range", "/colour/decided", "/questions"] {
        let page = house.get(&format!("{sheets}{path}")).await;
        let words = if path == "/questions" { "The colour of the car." } else { "(12 days left)." };
        page.says(200, &[words]);
        whole(&page);
    }

    let token = house.token(car).await;
    let page = house.get(&format!("/o/{token}")).await;
    page.says(
        200,
        &[
            "One question for you",
            "The paint that was liked",
            "A. Copper 1",
            "B. The quiet one",
            "Not a proof: spray a card.",
            "These are no photographs.",
            "Texture and sparkle are not shown",
            "A card was sprayed: Card of copper 1.",
            "No card has been sprayed yet. If you lean towards this one, ask for a card first.",
            "Turn the panels by hand",
            "no colour is mixed: silence is not a yes",
            "What the colour is for",
        ],
    );
    whole(&page);
    assert!(!page.text().contains("<script") && page.text().contains("class=\"grey\""));
    let fields = with(&house.owners_form(&token, 1).await, "choice", "B");
    let given = house.answer(&token, &with(&fields, "words", "The quiet one, please.")).await;
    assert_eq!(given.status, 303, "{}", html::words(&given.text()));
    let thanks = house.get(given.header("location")).await;
    thanks.says(
        200,
        &[
            "Your answer is kept",
            "Your colour",
            "The quiet one <b> , chosen on",
            "Copper 2",
            "N5",
            "none was sprayed when you chose",
            "Bonnet, day not fixed",
        ],
    );
    whole(&thanks);

    let record = car_of(&house, car).await;
    let colour = car_colour(&record).unwrap();
    assert_eq!(
        (colour.recipe.0.id, colour.since, colour.answer.way),
        (asked.recipes[1], Since::AsChosen, AnswerWay::Link)
    );
    assert!(colour_waits(&record).is_none());
    let page = house.get(&format!("{sheets}/colour/decided")).await;
    page.says(
        200,
        &[
            "Copper 2, over N5",
            "question 1",
            "on the owner's page",
            "as it was chosen",
            "none was shown when it was chosen: spray one",
            "2 March 2027",
        ],
    );
    whole(&page);
    house.get(&format!("{sheets}/coats")).await.says(200, &["Litres"]);
    assert!(!house.get(&format!("{sheets}/coats")).await.text().contains("Waits for the colour"));
    let pour = house.get(&format!("{sheets}/colour/pour?recipe={}", asked.seq(&house, 0).await)).await;
    pour.says(200, &["Not the recipe of the car's colour", "Copper 2"]);
    let pour = house.get(&format!("{sheets}/colour/pour?recipe={}", asked.seq(&house, 1).await)).await;
    assert!(!pour.text().contains("Not the recipe of"));
    house
        .get(&format!("{sheets}/questions/1"))
        .await
        .says(200, &["Exactly what was shown", "stood its pictures on a curved panel"]);
    let dossier = house.get(&format!("/o/{token}/dossier.pdf")).await;
    assert!(dossier.bytes.starts_with(b"%PDF"), "{}", dossier.text());
}

#[tokio::test]
async fn a_changed_mind_is_a_further_answer_and_a_corrected_recipe_is_said() {
    let house = House::open().await;
    let asked = ready(&house, "Changed").await;
    let car = asked.car;
    asked.sent(&house, &[0, 1]).await;
    let token = house.token(car).await;
    let first = house.owners_form(&token, 1).await;
    assert_eq!(house.answer(&token, &with(&first, "choice", "A")).await.status, 303);
    let page = house.get(&format!("/o/{token}?change=1")).await;
    page.says(200, &["Your answer of", "Your colour", "Give this answer instead"]);
    whole(&page);
    // What was locked stays: the same form again is told so, and only a further answer changes the colour.
    assert_eq!(
        house.answer(&token, &with(&with(&first, "choice", "B"), "entry", &EntryId::fresh().to_string())).await.status,
        409
    );
    let record = car_of(&house, car).await;
    assert_eq!(car_colour(&record).unwrap().recipe.0.id, asked.recipes[0]);
    let again = with(&html::filled(&page.text(), "answer-1"), "choice", "B");
    assert_eq!(house.answer(&token, &again).await.status, 303);
    let record = car_of(&house, car).await;
    assert_eq!((record.threads()[0].answers.len(), car_colour(&record).unwrap().recipe.0.id), (2, asked.recipes[1]));

    // None of these: the colour waits again.
    let page = house.get(&format!("/o/{token}?change=1")).await;
    let none = with(&html::filled(&page.text(), "answer-1"), "choice", "none");
    assert_eq!(house.answer(&token, &none).await.status, 303);
    house.get(&format!("/cars/{car}/colour/decided")).await.says(200, &["Waits for the colour: question 1"]);
    let page = house.get(&format!("/o/{token}?change=1")).await;
    let back = with(&html::filled(&page.text(), "answer-1"), "choice", "B");
    assert_eq!(house.answer(&token, &back).await.status, 303);

    // A correction from cards follows; a correction of the entry itself is said.
    let (_, chosen) = paintwork::recipe_of(&record, asked.recipes[1]).unwrap();
    let better = Formulated { name: "Copper 2, corrected".into(), after: Some(asked.recipes[1]), ..chosen.clone() };
    house.put(car, What::Formulated(better)).await;
    house
        .get(&format!("/cars/{car}/colour/decided"))
        .await
        .says(200, &["Copper 2, corrected, over N5", "corrected from cards since"]);
    house.get(&format!("/o/{token}")).await.says(200, &["mixed as Copper 2, corrected"]);
    let other = Formulated { note: "A slip put right".into(), ..chosen.clone() };
    house.put_instead(car, What::Formulated(other), Some(asked.recipes[1])).await;
    house
        .get(&format!("/cars/{car}/colour/decided"))
        .await
        .says(200, &["Take care", "was corrected in the record since"]);
    house.get(&format!("/o/{token}")).await.says(200, &["The shop has corrected the recipe"]);
    let page = house.get(&format!("/o/{token}?change=1")).await;
    page.says(200, &["The shop changed this recipe after the question was written"]);
    whole(&page);
}

#[tokio::test]
async fn an_owner_is_given_the_paints_of_the_question_and_no_other() {
    let house = House::open().await;
    let asked = ready(&house, "Mine").await;
    let other = ready(&house, "Theirs").await;
    let token = house.token(asked.car).await;
    let at = |path: &str| format!("/o/{token}/colour{path}");
    // Before anything was asked nothing is given out.
    for path in ["", "/panel.png?what=r4", "/sphere.bin?what=r4"] {
        house.get(&at(path)).await.says(404, &["Not shown"]);
    }
    asked.sent(&house, &[0, 1]).await;
    other.sent(&house, &[2, 3]).await;
    let (mut seqs, donor) = (Vec::new(), asked.donor);
    for n in 0..4 {
        seqs.push(asked.seq(&house, n).await);
    }
    for (what, status) in [
        (format!("r{}", seqs[0]), 200),
        (format!("r{}", seqs[1]), 200),
        (format!("m{donor}"), 200),
        (format!("r{}", seqs[2]), 404),
        (format!("r{}", seqs[3]), 404),
        (format!("b{}", asked.brief), 404),
        (format!("m{}", seqs[0]), 404),
        (format!("r{donor}"), 404),
        ("wish".into(), 404),
        ("r999999".into(), 404),
        ("".into(), 404),
        ("%3Cscript%3E".into(), 404),
    ] {
        for path in ["/panel.png?w=64&h=48&what=", "/sphere.bin?what="] {
            let answer = house.get(&at(&format!("{path}{what}"))).await;
            assert_eq!(answer.status.as_u16(), status, "{path}{what}: {}", html::words(&answer.text()));
            assert_eq!(answer.header("cache-control"), "no-store");
        }
        if !what.is_empty() {
            let split = house.get(&at(&format!("/panel.png?w=64&h=48&what=m{donor}&with={what}"))).await;
            assert_eq!(split.status.as_u16(), status, "with={what}");
        }
    }
    // Another primer or a coat less is the shop's to try: the picture is the same.
    let plain = house.get(&at(&format!("/panel.png?w=64&h=48&what=r{}", seqs[0]))).await;
    let over = house.get(&at(&format!("/panel.png?w=64&h=48&what=r{}&over=white&less=1", seqs[0]))).await;
    assert_eq!(plain.bytes, over.bytes);
    for wrong in ["w=15", "w=961", "h=721", "h=x", "light=moon", "light=furnace", "turn=71", "tilt=NaN"] {
        let answer = house.get(&at(&format!("/panel.png?what=r{}&{wrong}", seqs[0]))).await;
        assert_eq!(answer.status, 422, "{wrong}");
        whole(&answer);
    }
    // Taken back, nothing is given out any more.
    let record = car_of(&house, asked.car).await;
    house.take_back(asked.car, record.threads()[0].latest().unwrap().0.id).await;
    for path in ["".to_owned(), format!("/panel.png?what=r{}", seqs[0]), format!("/sphere.bin?what=m{donor}")] {
        house.get(&at(&path)).await.says(404, &["Not shown"]);
    }
}

#[tokio::test]
async fn the_panels_are_turned_by_hand_with_a_form_and_with_the_programs_own_script() {
    let house = House::open().await;
    let asked = ready(&house, "Turned").await;
    asked.sent(&house, &[0, 1]).await;
    let token = house.token(asked.car).await;
    let page = house.get(&format!("/o/{token}/colour?question=1&turn=-35&tilt=5&light=lamp&split=1")).await;
    page.says(
        200,
        &[
            "Turn the panels",
            "35\u{b0} to the left",
            "On every panel, left",
            "A. Copper 1.",
            "B. Copper 2.",
            "Check this screen first",
            "These are no photographs.",
        ],
    );
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let sent = html::filled(&page.text(), "turn-it");
    for (name, value) in [("question", "1"), ("turn", "-35"), ("tilt", "5"), ("light", "lamp"), ("split", "1")] {
        assert_eq!(field(&sent, name), value, "{name}");
    }
    let policy = page.header("content-security-policy");
    for part in
        ["default-src 'none'", "script-src 'self'", "connect-src 'self'", "worker-src 'none'", "frame-ancestors 'none'"]
    {
        assert!(policy.contains(part), "{policy}");
    }
    let tags = html::tags(&page.text()).unwrap();
    let scripts: Vec<_> = tags.iter().filter(|t| t.name == "script").map(|t| t.get("src")).collect();
    assert_eq!(scripts, ["/ui/guidecoat.js"]);
    let figures: Vec<_> = tags.iter().filter(|t| t.name == "figure" && t.has("data-panel")).collect();
    assert_eq!(figures.len(), 2, "the paint that was liked is on the left halves");
    for address in
        figures.iter().flat_map(|f| ["data-mesh", "data-sphere", "data-sphere-right"].map(|name| f.get(name)))
    {
        assert_eq!(house.get(address).await.status, 200, "{address}");
    }
    for img in tags.iter().filter(|t| t.name == "img") {
        let picture = house.get(img.get("src")).await;
        let decoded = image::load_from_memory(&picture.bytes).unwrap();
        assert_eq!((decoded.width(), decoded.height()), (640, 360));
    }
    let all = house.get(&format!("/o/{token}/colour")).await;
    let figures = html::tags(&all.text()).unwrap().iter().filter(|t| t.has("data-panel")).count();
    assert_eq!(figures, 3);
    assert_eq!(house.get(&format!("/o/{token}/colour?turn=x")).await.status, 422);
}

#[tokio::test]
async fn the_first_load_of_a_page_with_four_recipes_is_small() {
    let house = House::open().await;
    let asked = ready(&house, "Small").await;
    let mut photographs = Vec::new();
    for n in 0..2 {
        let photo = Form::new()
            .pairs([("kind", "photographed"), ("side", "left"), ("stage", "strip"), ("caption", "Cards in daylight")])
            .text("entry", EntryId::fresh())
            .text("who", house.bench.id)
            .file("photo", "a.jpg", form::jpeg(2400 - n, 1800));
        assert_eq!(house.keep(asked.car, photo).await.status, 303);
        photographs.push(car_of(&house, asked.car).await.photographs().last().unwrap().0.id.to_string());
    }
    let mut fields = asked.form(&house, &[0, 1, 2, 3]).await;
    fields.retain(|(name, _)| name != "photographs");
    fields.extend(photographs.into_iter().map(|id| ("photographs".to_owned(), id)));
    assert_eq!(asked.send_form(&house, &fields).await.status, 303);
    assert_eq!(asked.change(&house, 1, &[("do", "send")]).await.status, 303);
    let token = house.token(asked.car).await;
    let page = house.get(&format!("/o/{token}")).await;
    let tags = html::tags(&page.text()).unwrap();
    let named = tags.iter().filter(|t| !t.inside.iter().any(|i| i == "details"));
    let addresses: Vec<&str> = named
        .map(|t| if t.name == "link" { t.get("href") } else { t.get("src") })
        .filter(|address| address.starts_with('/'))
        .collect();
    let panels = addresses.iter().filter(|a| a.contains("/panel.png")).count();
    let cards = addresses.iter().filter(|a| a.contains("/pictures/")).count();
    assert_eq!((panels, cards), (20, 2), "the paint that was liked and four recipes, four pictures each");
    let (mut size, mut pictures) = (page.bytes.len(), 0);
    for address in addresses {
        let answer = house.get(address).await;
        assert_eq!(answer.status, 200, "{address}");
        size += answer.bytes.len();
        pictures += if address.contains("/panel.png") { answer.bytes.len() } else { 0 };
    }
    for font in ["barlow-latin-400-normal", "barlow-latin-600-normal", "barlow-condensed-latin-500-normal"] {
        let font = house.get(&format!("/ui/fonts/{font}.woff2")).await;
        size += if font.status == 200 { font.bytes.len() } else { 0 };
    }
    println!("first load {size} bytes, of them {pictures} for 20 pictures, page {}", page.bytes.len());
    assert!(
        size < FIRST_LOAD,
        "{size} bytes, of them {pictures} for 20 pictures and {} for the page",
        page.bytes.len()
    );

    // The same question as a file, with every picture inside.
    let file = house.get(&format!("/cars/{}/questions/1/question.html", asked.car)).await;
    file.says(200, &["Not a proof: spray a card.", "A. Copper", "D. Copper", "option A, B, C or D"]);
    let tags = html::tags(&file.text()).unwrap();
    let inside =
        tags.iter().filter(|t| t.name == "img" && t.get("src").starts_with("data:image/png;base64,iVBOR")).count();
    assert_eq!((inside, file.text().contains("did not come with the file")), (20, false));
    assert!(file.bytes.len() < 1_000_000, "{} bytes", file.bytes.len());
    for tag in &tags {
        assert!(!["script", "link", "iframe", "form", "a"].contains(&tag.name.as_str()), "<{}>", tag.name);
    }
}

#[tokio::test]
async fn what_cannot_be_asked_or_kept_is_said_and_nothing_is_kept() {
    let house = House::open().await;
    let asked = ready(&house, "Bad input").await;
    let bare = house.car("No recipe").await;
    house.get(&format!("/cars/{bare}/colour/ask")).await.says(200, &["needs two recipes or more", "Find recipes"]);
    house.get(&format!("/cars/{bare}/colour/decided")).await.says(200, &["It is not decided"]);
    let fields = with(&asked.form(&house, &[0, 1]).await, "waits", "Typed with care");
    let before = house.count(asked.car).await;
    let (none, five) = (asked.form(&house, &[]).await, {
        let mut five = asked.form(&house, &[0, 1, 2, 3]).await;
        five.push(("recipe".into(), asked.recipes[0].to_string()));
        five
    });
    let seq = asked.seq(&house, 1).await;
    let card = with(&fields, &format!("card-{seq}"), &asked.card(&house, 0, "Another").await.to_string());
    let before = before + 1;
    let foreign = with(&fields, "recipe", &EntryId::fresh().to_string());
    let one = asked.form(&house, &[1]).await;
    for (wrong, id, words) in [
        (none, "e-recipe", "0 recipes were chosen: two to four can be offered"),
        (one, "e-recipe", "1 recipes were chosen"),
        (five, "e-recipe", "5 recipes were chosen"),
        (foreign, "e-recipe", "not in this car's record"),
        (card, "e-card", "belongs to another recipe"),
        (with(&fields, "by", ""), "e-by", "was typed for the day"),
        (with(&fields, "by", "2026-02-30"), "e-by", "was typed for the day"),
        (with(&fields, "by", &day(-1).to_string()), "e-by", "is past"),
        (with(&fields, "serves", "Bonnet, 2026-02-30"), "e-serves", "does not end in a day"),
        (with(&fields, "serves", "Bonnet\nBonnet"), "e-serves", "comes twice"),
        (with(&fields, "waits", &"line\n".repeat(31)), "e-waits", "31 lines were typed"),
        (with(&fields, "photographs", &EntryId::fresh().to_string()), "e-photographs", "not in this car's record"),
        (with(&fields, "who", ""), "e-who", "Nobody was picked"),
        (with(&fields, "who", &house.owner.id.to_string()), "e-who", "Nobody was picked who may write here"),
    ] {
        let page = asked.send_form(&house, &wrong).await;
        page.says(422, &[words]);
        whole(&page);
        assert!(page.text().contains(&format!("id=\"{id}\"")), "{id}: {}", html::words(&page.text()));
    }
    // Today is not past.
    assert_eq!(house.count(asked.car).await, before, "nothing was kept");
    assert_eq!(asked.send_form(&house, &with(&fields, "by", &day(0).to_string())).await.status, 303);
    house.get(&format!("/cars/{}/coats", asked.car)).await.says(200, &["(today)"]);

    let path = format!("/cars/{}/colour/decided", asked.car);
    let page = house.get(&path).await;
    let fields = with(&html::filled(&page.text(), "serves-form"), "who", &house.painter.id.to_string());
    let before = house.count(asked.car).await;
    for (wrong, words) in [
        (with(&fields, "serves", "Roof, 31.12."), "does not end in a day"),
        (with(&fields, "serves", ""), "for 0 parts"),
        (with(&fields, "serves", &"x".repeat(500)), "500 characters were typed"),
        (with(&with(&fields, "serves", "Roof"), "who", ""), "Nobody was picked"),
    ] {
        let page = house.post(&path, as_form(&wrong)).await;
        page.says(422, &[words]);
        whole(&page);
    }
    assert_eq!(house.count(asked.car).await, before);
    let kept = house.post(&path, as_form(&with(&fields, "serves", "Roof, 2027-01-31\nouter sill, left"))).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let page = house.get(kept.header("location")).await;
    whole(&page);
    let field = html::filled(&page.text(), "serves-form");
    assert_eq!(self::field(&field, "serves").to_lowercase(), "roof, 2027-01-31\nouter sill, left");
}

#[tokio::test]
async fn past_its_day_the_waiting_says_so_and_what_the_colour_serves_can_be_changed() {
    let house = House::open().await;
    let asked = ready(&house, "Late").await;
    asked.sent(&house, &[0, 1]).await;
    let late = asked.change(&house, 1, &[("by", &day(-5).to_string()), ("do", "send")]).await;
    assert_eq!(late.status, 303, "{}", html::words(&late.text()));
    for path in ["/coats", "/colour/pour", "/colour/batches", "/colour/decided"] {
        house
            .get(&format!("/cars/{}{path}", asked.car))
            .await
            .says(200, &["(5 days past)", "The day is past, and the colour is not decided"]);
    }
    // A question about zones beside it is none about the colour.
    house.put(asked.car, What::Asked(question(Vec::new()))).await;
    let token = house.token(asked.car).await;
    house
        .get(&format!("/o/{token}"))
        .await
        .says(200, &["2 questions for you", "How far shall we go inside the left sill?"]);
    let call = html::filled(&house.get(&format!("/cars/{}/questions/1", asked.car)).await.text(), "call-form");
    let call = with(&with(&with(&call, "who", &house.lead.id.to_string()), "way", "telephone"), "choice", "A");
    let kept = house.post(&format!("/cars/{}/questions/1/answer", asked.car), as_form(&call)).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let path = format!("/cars/{}/colour/decided", asked.car);
    let page = house.get(&path).await;
    page.says(
        200,
        &["by telephone", "sealed master card: drawer 2", "Left door, 2 March 2027", "Bonnet, day not fixed"],
    );
    let fields = with(&html::filled(&page.text(), "serves-form"), "who", &house.painter.id.to_string());
    assert_eq!(field(&fields, "serves"), "Left door, 2027-03-02\nBonnet");
    let kept = house.post(&path, as_form(&with(&fields, "serves", "Left door, 2027-04-06"))).await;
    let page = house.get(kept.header("location")).await;
    page.says(200, &["Left door, 6 April 2027"]);
    assert!(!html::words(&page.text()).contains("Bonnet"));
    whole(&page);
    // Without the file of its toners the words stay, and the pictures say why they are not there.
    let record = car_of(&house, asked.car).await;
    let (_, shelf) = paintwork::shelves(&record)[0];
    house.delete_file(shelf.file).await;
    let again = house.again();
    let page = house.ask_at(&again, "GET", &path, "").await;
    page.says(200, &["Copper 1, over"]);
    let pdf = house.ask_at(&again, "GET", &format!("/cars/{}/dossier.pdf", asked.car), "").await;
    assert!(pdf.bytes.starts_with(b"%PDF"), "{}", html::words(&pdf.text()));
}
