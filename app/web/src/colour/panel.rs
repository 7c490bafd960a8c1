//! The turning panel: paints, briefs and recipes on one curved panel, side by side or split, in one of four lights.
//!
//! The pictures are drawn here, from the film model; an island puts canvases in their place that draw the same
//! from the same tables, and turns them.

pub(crate) mod asked;
pub(crate) mod drawn;
pub(crate) mod figure;

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use job::car::Car;
use job::colour::preview::{Panel, Picture, Scene, View};
use job::ids::CarId;
use job::paintwork::preview::{PreviewError, Subject};
use job::paintwork::{self, preview};
use job::shop::ShopError;
use job::what::What;
use maud::{Markup, html};

use super::{Part, brief::pick, check_screen, parts};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet};
use crate::link;
use crate::state::App;
use crate::typed::Typed;
use asked::{Look, MOST_TILT, MOST_TURN, Paint, tilt_words, turn_words};
use drawn::{Easel, fields};
use figure::{Figure, outside_words};

/// The most paints shown at once.
const MOST: usize = 6;
/// The most recipes shown when nothing is asked for.
const LATEST: usize = 4;
/// The most paints of a kind that are offered.
const OFFERED: usize = 12;
/// The size at which it is counted what a screen cannot show.
const COUNTED: [usize; 2] = [240, 135];

/// One paint, worked out.
struct Shown {
    paint: Paint,
    name: String,
    says: Vec<String>,
    /// Why there is no picture of it.
    not: Option<String>,
}

/// What is on the page.
struct Asked {
    paints: Vec<Subject>,
    split: Option<Subject>,
    look: Look,
}

fn subject(car: &Car, text: &str) -> Result<Subject, Fault> {
    let say = |e: PreviewError| Fault::Shop(ShopError::Preview(e));
    let subject: Subject = text.parse().map_err(say)?;
    preview::entry(car, subject).map_err(say)?;
    Ok(subject)
}

impl Asked {
    fn read(car: &Car, typed: &Typed) -> Result<Self, Fault> {
        let mut paints: Vec<Subject> = Vec::new();
        for text in typed.all("what").filter(|text| !text.is_empty()) {
            let one = subject(car, text)?;
            if !paints.contains(&one) {
                paints.push(one);
            }
        }
        if paints.len() > MOST {
            let say = format!("{} paints were picked for the panel: at most {MOST} are shown at once.", paints.len());
            return Err(Fault::Bad(say));
        }
        if paints.is_empty() {
            paints = usual(car);
        }
        let split = match typed.get("split") {
            "" => None,
            text => Some(subject(car, text)?),
        };
        Ok(Self { paints, split, look: Look::read(typed)? })
    }
}

/// The donor, the latest brief, and the latest recipes.
fn usual(car: &Car) -> Vec<Subject> {
    let brief = paintwork::briefs(car).pop();
    let donor = brief.and_then(|(_, briefed)| paintwork::target_of(car, briefed.donor));
    let donor = donor.or_else(|| paintwork::targets(car).pop());
    let mut paints: Vec<Subject> = donor.map(|(entry, _)| Subject::Measured(entry.seq)).into_iter().collect();
    paints.extend(brief.map(|(entry, _)| Subject::Brief(entry.seq)));
    let recipes = paintwork::recipes(car);
    let late = recipes.iter().skip(recipes.len().saturating_sub(LATEST));
    paints.extend(late.map(|(entry, _)| Subject::Recipe(entry.seq)));
    paints
}

/// Every paint that can be shown, the latest of each kind first, with its name.
fn offered(car: &Car) -> Vec<(Subject, &'static str, String)> {
    let late = |kind: &'static str, mut all: Vec<(Subject, String)>| {
        all.reverse();
        all.truncate(OFFERED);
        all.into_iter().map(move |(subject, name)| (subject, kind, name))
    };
    let measured = paintwork::targets(car).into_iter().map(|(e, m)| (Subject::Measured(e.seq), m.name.clone()));
    let briefs = paintwork::briefs(car).into_iter().map(|(e, b)| (Subject::Brief(e.seq), b.name.clone()));
    let recipes = paintwork::recipes(car).into_iter().map(|(e, r)| (Subject::Recipe(e.seq), r.name.clone()));
    let mut all: Vec<_> = late("measured", measured.collect()).collect();
    all.extend(late("brief", briefs.collect()));
    all.extend(late("recipe", recipes.collect()));
    all
}

/// The name of a paint and what kind it is.
fn title(car: &Car, subject: Subject) -> String {
    match car.entry(subject.seq()).map(|entry| &entry.what) {
        Some(What::Measured(measured)) if measured.is_picture() => {
            format!("{}, from a picture, which is not a measurement", measured.name)
        }
        Some(What::Measured(measured)) => format!("{}, measured", measured.name),
        Some(What::Briefed(briefed)) => format!("{}, as it is wished for", briefed.name),
        Some(What::Formulated(recipe)) => format!("{}, recipe", recipe.name),
        _ => subject.to_string(),
    }
}

/// The names of all primers of the shelves that these recipes were found on.
async fn primers(app: &App, car: &Car, paints: impl Iterator<Item = Subject>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for subject in paints {
        let Ok(entry) = preview::entry(car, subject) else { continue };
        let Ok(Some((_, shelved))) = preview::recipe(car, entry) else { continue };
        let Ok(file) = app.shop.shelf(shelved).await else { continue };
        for primer in file.shelf.substrates() {
            if !names.contains(&primer.name) {
                names.push(primer.name.clone());
            }
        }
    }
    names
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let asked = Asked::read(&car, &fields(&pairs))?;
    let primers = primers(&app, &car, asked.paints.iter().copied().chain(asked.split)).await;
    if let Some(over) = asked.look.over.as_ref().filter(|over| !primers.contains(over)) {
        let short: String = over.chars().take(60).collect();
        return Err(Fault::Bad(format!("No recipe shown here has the primer \"{short}\" on its shelf.")));
    }
    let shown = work_out(&app, &car, &asked).await?;
    Ok(draw(&app, &access, &car, &asked, &shown, &primers))
}

async fn work_out(app: &App, car: &Arc<Car>, asked: &Asked) -> Result<Vec<Shown>, Fault> {
    let split = asked.split.filter(|split| asked.paints.iter().any(|paint| paint != split));
    let paints: Vec<Subject> = asked.paints.iter().copied().filter(|paint| Some(*paint) != split).collect();
    let look = asked.look.clone();
    Easel::with(app, car, move |easel| {
        paints.into_iter().map(|subject| one(easel, subject, split, &look)).collect::<Result<Vec<_>, Fault>>()
    })
    .await
}

fn one(easel: &Easel, subject: Subject, split: Option<Subject>, look: &Look) -> Result<Shown, Fault> {
    let name = title(&easel.car, subject);
    let paint = Paint::Entry(subject);
    let nothing = Typed::default();
    let left = split.map(|split| easel.paint(&Paint::Entry(split), look, &nothing));
    let (own, left) = match (easel.paint(&paint, look, &nothing), left.transpose()) {
        (Ok(own), Ok(left)) => (own, left),
        // What cannot be shown says so in its place; the others are still there.
        (Err(Fault::Shop(ShopError::Preview(e))), _) | (_, Err(Fault::Shop(ShopError::Preview(e)))) => {
            return Ok(Shown { paint, name, says: Vec::new(), not: Some(e.to_string()) });
        }
        (Err(fault), _) | (_, Err(fault)) => return Err(fault),
    };
    let view = View { turn_deg: look.turn, tilt_deg: look.tilt, width: COUNTED[0], height: COUNTED[1], mark: false };
    let halves = left.as_ref().map(|_| &own.sphere);
    let picture = Picture::draw(Panel::usual(), left.as_ref().map_or(&own.sphere, |left| &left.sphere), halves, view);
    let mut says = Vec::new();
    if matches!(subject, Subject::Recipe(_)) {
        says.extend(look.over.as_ref().map(|over| format!("Over {over}")));
        says.extend(look.less.then(|| "With one coat less".to_owned()));
    }
    says.push(outside_words(picture.outside_pixels, picture.panel_pixels));
    says.extend(own.warnings.iter().map(|warning| format!("Doubtful: {}", warning.what)));
    Ok(Shown { paint, name, says, not: None })
}

fn draw(app: &App, access: &Access, car: &Car, asked: &Asked, shown: &[Shown], primers: &[String]) -> Markup {
    let light = asked.look.scene.words().to_lowercase();
    let says = match shown.len() {
        0 => "There is no paint to show yet.".to_owned(),
        1 => format!("One paint on a curved panel, {light}."),
        n => format!("{n} paints on a curved panel, {light}."),
    };
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Turning panel",
        says: &says,
        legend: false,
        deed: if shown.is_empty() { Bar::Go("#sheets".into(), "Sheets") } else { Bar::Send("turn-it", "Show") },
    };
    let split = asked.split.map(Paint::Entry).filter(|split| shown.iter().any(|one| one.paint != *split));
    let left = asked.split.map(|split| title(car, split));
    page.draw(html! {
        (parts(car.id, Part::Panel))
        @if shown.is_empty() {
            div.wait.stack {
                p { "A paint is measured and imported first, or a recipe found: then it stands here on a curved panel, as it would look under the sky, a lamp or a shop tube." }
                p { a.btn.main href={ (link::shell(car.id)) "/colour#import" } { "Import a measurement" } }
            }
        } @else {
            @if let (Some(_), Some(left)) = (&split, &left) { p { "On each panel, left: " b { (left) } ". Right: the paint below it." } }
            div.panels {
                @for one in shown {
                    @match &one.not {
                        Some(why) => figure.panel { p.note { b { (one.name) } ": " (sentence(why)) } },
                        None => (Figure {
                            car: car.id,
                            left: split.as_ref().unwrap_or(&one.paint),
                            right: split.as_ref().map(|_| &one.paint),
                            brief: "",
                            look: &asked.look,
                            name: &one.name,
                            says: &one.says,
                        }.draw()),
                    }
                }
            }
            (controls(car, asked, primers))
            (how())
            (check_screen())
        }
    })
}

fn controls(car: &Car, asked: &Asked, primers: &[String]) -> Markup {
    let look = &asked.look;
    let offered = offered(car);
    let words = |kind: &str, name: &str| format!("{name}, {kind}");
    html! {
        form #turn-it.panel-controls.tray.no-print method="get" action=(link::colour(car.id, "panel")) data-panel-controls {
            (hands(look))
            (pick::select("split", "Left half of every panel", asked.split.map(|split| split.to_string()).as_deref(), &[("", "no, each paint by itself".into())], offered.iter().map(|(subject, kind, name)| (subject.to_string(), words(kind, name)))))
            @if !primers.is_empty() {
                (pick::select("over", "Recipes over", look.over.as_deref(), &[("", "the primer they were found for".into())], primers.iter().map(|name| (name.clone(), name.clone()))))
                label.pick { input type="checkbox" name="less" value="1" checked[look.less]; span { b { "Recipes with one coat less" } } }
            }
            label.pick { input type="checkbox" name="mark" value="1" checked[look.mark]; span { b { "Mark what this screen cannot show" } } }
            fieldset {
                details {
                    summary { "Which paints? At most " (MOST) }
                    div.picks.side {
                        @for (subject, kind, name) in &offered {
                            label.pick { input type="checkbox" name="what" value=(subject) checked[asked.paints.contains(subject)]; span { (name) small { (kind) } } }
                        }
                    }
                }
            }
            (show())
        }
    }
}

/// How the panels are turned and lit, on every form of them.
pub(crate) fn hands(look: &Look) -> Markup {
    html! {
        div.field {
            label for="turn" { "Turn" } output for="turn" { (turn_words(look.turn)) }
            input #turn type="range" name="turn" min=(-MOST_TURN) max=(MOST_TURN) step="1" value=(look.turn)
                data-low-word="to the left" data-high-word="to the right" data-none-word="straight on" data-unit="\u{b0}";
        }
        div.field {
            label for="tilt" { "Tilt" } output for="tilt" { (tilt_words(look.tilt)) }
            input #tilt type="range" name="tilt" min=(-MOST_TILT) max=(MOST_TILT) step="1" value=(look.tilt)
                data-low-word="up" data-high-word="down" data-none-word="level" data-unit="\u{b0}";
        }
        fieldset {
            legend { "Light" }
            div.views.sizes {
                @for scene in Scene::ALL { label { input type="radio" name="light" value=(scene.key()) checked[scene == look.scene]; (scene.words()) } }
            }
        }
    }
}

/// The end of such a form.
pub(crate) fn show() -> Markup {
    html! {
        p.row {
            button type="button" data-panel-spin hidden { "Turn slowly by itself" }
            button.main { "Show" }
        }
    }
}

/// How the pictures come about, and what they leave out.
fn how() -> Markup {
    html! {
        section {
            h2 { "How these pictures come about" }
            p { "Each point is reckoned from the paint's own figures, light by light and angle by angle: a recipe from its film over its primer, a measured paint from its measured angles and what lies between them." }
            p { "A white card that faces you would be drawn at 65 % of the screen's white, and each light's own white is drawn white, as an eye that is used to it would see it. The lamps and the eye are far away. Not shown: shadows, sparkle and texture, and what one part of the panel throws on another." }
            p.small { "The clear's mirror image of sun, lamp or tube is drawn as wide as a sprayed clear makes it (our choice)." }
        }
    }
}
