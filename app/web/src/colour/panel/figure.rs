//! One picture of a panel with what an island needs to turn it.

use job::ids::CarId;
use maud::{Markup, html};

use super::asked::{Look, Paint};
use super::drawn::{HEIGHT, WIDTH};
use crate::colour::swatches::CAUTION;
use crate::fault::sentence;
use crate::link;

/// A panel with one paint, or two that meet in its middle.
pub(crate) struct Figure<'a> {
    pub(crate) car: CarId,
    /// The paint; of two, the one on the left.
    pub(crate) left: &'a Paint,
    /// The paint on the right half.
    pub(crate) right: Option<&'a Paint>,
    /// The fields of the brief that a wish is of, as part of an address; else empty.
    pub(crate) brief: &'a str,
    pub(crate) look: &'a Look,
    /// What is shown, in words.
    pub(crate) name: &'a str,
    /// What else is to be said of it, a sentence each.
    pub(crate) says: &'a [String],
}

impl Figure<'_> {
    fn with(&self, paint: &Paint) -> String {
        match paint {
            Paint::Wish => format!("{paint}&{}", self.brief),
            Paint::Entry(_) => paint.to_string(),
        }
    }

    fn picture(&self) -> String {
        let right = self.right.map(|right| format!("&with={}", self.with(right))).unwrap_or_default();
        let query = format!("what={}{right}&{}&w={WIDTH}&h={HEIGHT}", self.with(self.left), self.look.query());
        format!("{}?{query}", link::colour(self.car, "panel.png"))
    }

    fn sphere(&self, paint: &Paint) -> String {
        format!("{}?what={}&{}", link::colour(self.car, "panel/sphere.bin"), self.with(paint), self.look.lit())
    }

    /// Draws it.
    pub(crate) fn draw(&self) -> Markup {
        let light = self.look.scene.words();
        let alt = format!("{} on a curved panel, {}, {}", self.name, light.to_lowercase(), self.look.words());
        html! {
            figure.panel data-panel data-mesh=(link::colour(self.car, "panel/mesh.bin")) data-sphere=(self.sphere(self.left))
                data-sphere-right=[self.right.map(|right| self.sphere(right))]
                data-turn=(self.look.turn) data-tilt=(self.look.tilt) data-mark[self.look.mark] {
                img src=(self.picture()) width=(WIDTH) height=(HEIGHT) alt=(alt);
                figcaption {
                    b { (self.name) } ". "
                    @for say in self.says { (sentence(say)) " " }
                    (CAUTION)
                }
            }
        }
    }
}

/// How much of a paint the screen cannot show, in words.
pub(crate) fn outside_words(outside: usize, all: usize) -> String {
    let percent = 100.0 * outside as f64 / all.max(1) as f64;
    match percent {
        _ if outside == 0 => "An ordinary screen (sRGB) can show all of it, turned like this".into(),
        p if p < 1.0 => "Less than 1 % of it, turned like this, is past what an ordinary screen (sRGB) can show".into(),
        p => format!("{p:.0} % of it, turned like this, is past what an ordinary screen (sRGB) can show"),
    }
}
