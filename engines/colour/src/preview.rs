//! A paint on a curved panel, as the eye would meet it under the sky, a lamp or a shop tube: from the film
//! to the pixel, in light.
//!
//! # Why a table by the normal is enough
//!
//! The lamps are far away and so is the eye (an orthographic picture). Then what a point of a glossy panel
//! sends to the eye hangs on the direction of its surface alone, and on nothing else about the panel. So a
//! paint under a light is a [`Sphere`]: one colour for every direction that a surface can face. Turning the
//! panel moves its normals about on that sphere and needs no film model; the picture drawn here and a
//! picture drawn anywhere else from the same sphere agree.
//!
//! # From film to sphere
//!
//! An [`Appearance`] is the radiance factor of a paint without its gloss, spectrally, over the angles of
//! light and view and the azimuth between them: of a mix from the film model, of a measured paint from its
//! measured angles, or of a perfect diffuser. A [`Scene`] lights it: with beams (the sun, lamps), with a
//! sky by CIE's general sky, and with what ground or walls send back. The beams are looked up in the
//! appearance, the sky is integrated over it, both through the spectrum of each source and the 10 degree
//! observer. The colour is adapted to the scene's own white, exposed, and expressed in the screen's linear
//! primaries. The clear surface mirrors sky and walls by Fresnel; its mirror images of the lamps are
//! [`Glint`]s, kept apart because they are too sharp for a table.
//!
//! # What it is not
//!
//! A picture is no proof of a paint. Not computed: texture and sparkle, shadows, what one part of the panel
//! throws on another, waves in the lacquer other than the width of a glint, polarisation. A measured paint
//! is known at its measured angles only; between and beyond them its picture is an interpolation over the
//! tilt of the flakes that mirror.
//!
//! ```
//! use colour::preview::{Appearance, Panel, Picture, Scene, Sphere, View};
//!
//! let sphere = Sphere::new(&Appearance::diffuser(), Scene::Furnace);
//! let view = View { turn_deg: 20.0, tilt_deg: 0.0, width: 240, height: 135, mark: false };
//! let picture = Picture::draw(Panel::usual(), &sphere, None, view);
//! // A perfect diffuser in an even light is white all over.
//! assert_eq!(picture.at(120, 60), Some([255, 255, 255]));
//! ```

mod appearance;
mod panel;
mod picture;
mod scene;
mod sky;
mod sphere;

pub use appearance::Appearance;
pub use panel::Panel;
pub use picture::{BACKGROUND, LARGEST, Picture, View, WIDTH_MM};
pub use scene::Scene;
pub use sphere::{Glint, INNER, SIDE, Sphere};
