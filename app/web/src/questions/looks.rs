//! What the recipes of a question about the colour look like: the same pictures on the sheet, on the owner's page
//! and in the file.

use job::car::Car;
use job::colour::Illuminant;
use job::colour::preview::{Panel, Picture, Scene, View};
use job::mixing::Formulated;
use job::paint;
use job::paintwork::preview::Subject;
use job::paintwork::{self, Told, engine};
use job::question::{Choice, Question};
use job::what::{Measured, What};
use maud::{Markup, html};

use crate::colour::panel::asked::{Look, Paint};
use crate::colour::panel::drawn::Easel;
use crate::colour::swatches;
use crate::fault::Fault;
use crate::typed::Typed;

/// The lights under which every paint is shown, and their words under a picture.
const LIGHTS: [(Scene, &str); 2] = [(Scene::Sun, "Sun"), (Scene::Overcast, "Overcast sky")];
/// How the panel is turned, degrees: looked at straight on, and along its side.
const TURNS: [(f64, &str); 2] = [(0.0, "face"), (45.0, "flop")];
/// The width of a picture, px, by the number of paints: two stand side by side on a telephone, and the more there
/// are the smaller they must be for the page to come quickly. Three fourths as high.
const WIDTHS: [(usize, usize); 2] = [(3, 256), (4, 224)];
const LEAST_WIDTH: usize = 192;
/// What the halves of a swatch are called.
const HALVES: [&str; 2] = ["the paint that was liked", "this recipe"];

/// One picture: a paint in a light, turned so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Seen {
    pub(crate) subject: Subject,
    pub(crate) scene: Scene,
    pub(crate) turn: f64,
    /// Its width, px.
    width: usize,
}

/// Where a page has a picture from; `None` where there is none.
pub(crate) type From<'a> = &'a dyn Fn(Seen) -> Option<String>;

impl Seen {
    /// What it hangs on, as part of an address.
    pub(crate) fn query(self) -> String {
        let Self { subject, scene, turn, width } = self;
        format!("what={subject}&light={}&turn={turn}&w={width}&h={}", scene.key(), self.height())
    }

    fn height(self) -> usize {
        self.width * 3 / 4
    }

    /// Draws it, as few bytes as can be.
    pub(crate) fn draw(self, easel: &Easel) -> Result<Vec<u8>, Fault> {
        let look = Look { scene: self.scene, turn: self.turn, ..Look::default() };
        draw(easel, [self.subject, self.subject], &look, [self.width, self.height()])
    }
}

/// A panel with a paint on each half, which may be the same, as few bytes as can be.
pub(crate) fn draw(easel: &Easel, halves: [Subject; 2], look: &Look, size: [usize; 2]) -> Result<Vec<u8>, Fault> {
    let paint = |subject| easel.paint(&Paint::Entry(subject), look, &Typed::default());
    let left = paint(halves[0])?;
    let right = if halves[0] == halves[1] { None } else { Some(paint(halves[1])?) };
    let view = View { turn_deg: look.turn, tilt_deg: look.tilt, width: size[0], height: size[1], mark: look.mark };
    let picture = Picture::draw(Panel::usual(), &left.sphere, right.as_ref().map(|right| &right.sphere), view);
    dossier::small_png(&picture).map_err(|e| Fault::Internal(format!("the picture could not be written: {e}")))
}

/// The recipe that an option names, word for word as it was asked: entries are never changed.
pub(crate) fn recipe<'a>(car: &'a Car, option: &Choice) -> Option<Told<'a, Formulated>> {
    let entry = car.entry_by_id(option.recipe?)?;
    match &entry.what {
        What::Formulated(recipe) => Some((entry, recipe)),
        _ => None,
    }
}

/// The measured paint that a recipe came from: the donor of its brief, else what it was to match.
pub(crate) fn donor<'a>(car: &'a Car, recipe: &Formulated) -> Option<Told<'a, Measured>> {
    let brief = recipe.briefed.and_then(|id| paintwork::brief_of(car, id));
    paintwork::target_of(car, brief.map_or(recipe.target, |(_, brief)| brief.donor))
}

/// The paints that the recipes of a question came from, each once.
pub(crate) fn donors<'a>(car: &'a Car, question: &Question) -> Vec<Told<'a, Measured>> {
    let mut donors: Vec<Told<'a, Measured>> = Vec::new();
    for option in &question.options {
        let Some(donor) = recipe(car, option).and_then(|(_, recipe)| donor(car, recipe)) else { continue };
        if !donors.iter().any(|(entry, _)| entry.seq == donor.0.seq) {
            donors.push(donor);
        }
    }
    donors
}

/// Every paint of a question: those that were liked, then the recipes.
pub(crate) fn paints(car: &Car, question: &Question) -> Vec<Subject> {
    let liked = donors(car, question).into_iter().map(|(entry, _)| Subject::Measured(entry.seq));
    let recipes = question.options.iter().filter_map(|option| recipe(car, option));
    liked.chain(recipes.map(|(entry, _)| Subject::Recipe(entry.seq))).collect()
}

/// Every picture that stands with a question.
pub(crate) fn pictures(car: &Car, question: &Question) -> Vec<Seen> {
    let (paints, width) = (paints(car, question), width(car, question));
    paints.into_iter().flat_map(|subject| of(subject, width)).map(|(seen, _)| seen).collect()
}

fn width(car: &Car, question: &Question) -> usize {
    let paints = paints(car, question).len();
    WIDTHS.iter().find(|(most, _)| paints <= *most).map_or(LEAST_WIDTH, |(_, width)| *width)
}

/// A paint in every light and turn, with the words of each.
fn of(subject: Subject, width: usize) -> impl Iterator<Item = (Seen, String)> {
    LIGHTS.into_iter().flat_map(move |(scene, light)| {
        TURNS.into_iter().map(move |(turn, word)| (Seen { subject, scene, turn, width }, format!("{light}, {word}")))
    })
}

/// A paint in every light and turn, side by side.
fn grid(subject: Subject, width: usize, name: &str, from: From<'_>) -> Markup {
    html! {
        div.thumbs {
            @for (seen, words) in of(subject, width) {
                figure {
                    @match from(seen) {
                        Some(address) => img src=(address) width=(width) height=(seen.height()) loading="lazy" alt={ (name) " on a curved panel: " (words.to_lowercase()) };,
                        None => p.wait { "This picture is not here. Ask the shop for it." },
                    }
                    figcaption { (words) }
                }
            }
        }
    }
}

/// What the pictures are and are not, before any of them.
pub(crate) fn reading() -> Markup {
    html! {
        div.note.stop {
            p { b { "Not a proof: spray a card." } }
            p { "These are no photographs. Each picture is worked out from a recipe, on a piece of a door. Texture and sparkle are not shown, and every screen shows colours its own way." }
            p { "See what each colour does: " b { "face" } " is straight in front of you, " b { "flop" } " is seen along the side. Then choose by a sprayed card in daylight." }
        }
    }
}

/// The paints that the recipes came from.
pub(crate) fn liked(car: &Car, question: &Question, from: From<'_>) -> Markup {
    let (donors, width) = (donors(car, question), width(car, question));
    html! {
        @if !donors.is_empty() {
            section {
                h3 { @if donors.len() == 1 { "The paint that was liked" } @else { "The paints that were liked" } }
                @for (entry, measured) in &donors {
                    p { b { (measured.name) } @if measured.is_picture() { ", sampled from a picture, which is not a measurement" } "." }
                    (grid(Subject::Measured(entry.seq), width, &measured.name, from))
                }
            }
        }
    }
}

/// What one option looks like: the panel, the swatches beside the paint that was liked, and its card.
pub(crate) fn option(car: &Car, question: &Question, option: &Choice, from: From<'_>) -> Markup {
    let Some((entry, named)) = recipe(car, option) else {
        return html! { @if option.recipe.is_some() { p.note { "The recipe of this option is not in the record of this car." } } };
    };
    let changed = option.recipe.and_then(|id| car.standing(id)).is_none_or(|stands| stands.seq != entry.seq);
    html! {
        (grid(Subject::Recipe(entry.seq), width(car, question), &option.title, from))
        (strip(car, named))
        (card(car, option))
        @if changed { p.note { b { "The shop changed this recipe after the question was written." } " What stands here is the recipe as it was. Ask before you choose it." } }
    }
}

/// The recipe beside the paint that was liked, angle by angle.
fn strip(car: &Car, recipe: &Formulated) -> Markup {
    let Ok(predicted) = engine::predicted(recipe) else { return html! {} };
    let liked = donor(car, recipe).and_then(|(_, measured)| paint::measurement(measured).ok());
    html! {
        @match liked {
            Some(liked) => {
                p.small { "From face to flop on an overcast day. Left half: " (HALVES[0]) ". Right half: " (HALVES[1]) "." }
                (swatches::split(&liked, &predicted, HALVES, Illuminant::D65))
                p.small { "The figure under each pair says how far apart its halves are: under 0.5 is not seen side by side, over 3 is another colour." }
            }
            None => (swatches::strip(&predicted, Illuminant::D65)),
        }
    }
}

fn card(car: &Car, option: &Choice) -> Markup {
    html! {
        @match option.card.and_then(|id| paintwork::card_of(car, id)) {
            Some((_, card)) => p { b { "A card was sprayed: " (card.name) "." } " Look at it in daylight before you choose." },
            None => p { b { "No card has been sprayed yet." } " If you lean towards this one, ask for a card first." },
        }
    }
}
