//! Where light comes from: beams, sky, ground and walls, each with its spectrum.
//!
//! Directions are those of the picture: x to the right, y up, z towards the eye. Strengths are told by what
//! they do to a perfect diffuser: 1 is the radiance of a white card that a beam meets square on.

use std::f64::consts::PI;
use std::fmt;
use std::str::FromStr;

use base::math;

use super::sky::Sky;
use crate::daylight;
use crate::display::{SCREEN, adapt, multiply};
use crate::error::ColourError;
use crate::light::{Illuminant, Observer, Xyz, table, weigh};
use crate::weights::Weights;

/// A light to see a paint in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Scene {
    /// Sun from the upper left in front, under a clear sky.
    Sun,
    /// An evenly clouded sky.
    Overcast,
    /// One filament lamp in a dim room (illuminant A).
    Lamp,
    /// One tube overhead, along the panel, in a room with light walls (FL11).
    Tube,
    /// The same light from everywhere (D65), for checks: a white furnace.
    Furnace,
}

impl Scene {
    /// Those that a paint is judged in, daylight first.
    pub const ALL: [Self; 4] = [Self::Sun, Self::Overcast, Self::Lamp, Self::Tube];

    /// The key in addresses and at the command line.
    pub fn key(self) -> &'static str {
        match self {
            Self::Sun => "sun",
            Self::Overcast => "overcast",
            Self::Lamp => "lamp",
            Self::Tube => "tube",
            Self::Furnace => "furnace",
        }
    }

    /// What it is called on screen.
    pub fn words(self) -> &'static str {
        match self {
            Self::Sun => "Sun and clear sky",
            Self::Overcast => "Overcast sky",
            Self::Lamp => "Filament lamp",
            Self::Tube => "Shop tube",
            Self::Furnace => "Even light",
        }
    }
}

impl fmt::Display for Scene {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.key())
    }
}

impl FromStr for Scene {
    type Err = ColourError;

    /// Reads one of the keys of [`Scene::ALL`].
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::ALL
            .into_iter()
            .find(|scene| scene.key() == text.trim())
            .ok_or_else(|| ColourError::Scene { text: text.to_owned() })
    }
}

/// What a white card facing the eye is drawn at, of the screen's white: an effect paint's face sends back more
/// than a white card (our choice).
const EXPOSURE: f64 = 0.65;
/// Reflectance of the ground (common practice in daylight work, no source).
const GROUND: f64 = 0.2;
/// Half the band around the horizon over which ground passes into sky, in sines of elevation: trees, walls.
const HORIZON: f64 = 0.14;
/// Light of a clear sky on level ground over the sun's on a surface that faces it (common practice, no source).
const CLEAR_SKY: f64 = 0.14;
/// Correlated colour temperatures of the sun's beam, a clear sky and an overcast one, K (common practice, no
/// source; D50, a blue sky, D65).
const BEAM_K: f64 = 5003.0;
const CLEAR_K: f64 = 12_000.0;
const OVERCAST_K: f64 = 6504.0;
/// Light of the walls over that of the lamp, and of the tube (our choice: a dim garage, a light shop).
const DIM_WALLS: f64 = 0.06;
const LIGHT_WALLS: f64 = 0.25;
/// How far lacquer spreads a lamp's mirror image, as a standard deviation in radians: orange peel (our choice).
const SUN_SPREAD: f64 = 0.035;
const LAMP_SPREAD: f64 = 0.05;
const TUBE_SPREAD: f64 = 0.087;
/// The tube as so many points along its length, which it fills from end to end, in radians as seen from here.
const TUBE_POINTS: usize = 9;
const TUBE_LENGTH: f64 = 1.12;

/// A distant lamp.
#[derive(Debug, Clone, Copy)]
pub(super) struct Beam {
    /// Unit vector towards it.
    pub(super) toward: [f64; 3],
    /// Strength.
    pub(super) strength: f64,
    /// Its spectrum, by place among the scene's.
    pub(super) source: usize,
    /// Spread of its mirror image, radians.
    pub(super) spread: f64,
}

/// What comes from everywhere else, by spectrum.
#[derive(Debug, Clone, Copy)]
enum Soft {
    /// The same from everywhere.
    Even(f64),
    /// A sky over ground; `zenith` is its luminance overhead, `sun` the unit vector to the sun.
    Outdoors { sky: Sky, zenith: f64, sun: [f64; 3], ground: f64, ground_source: usize },
}

/// A scene worked out: spectra to screen, beams, and the soft light around.
#[derive(Debug)]
pub(super) struct Lights {
    /// Spectral radiance factors to the screen's linear primaries, adapted and exposed, by source.
    pub(super) to_screen: Vec<[[f64; 3]; 31]>,
    pub(super) beams: Vec<Beam>,
    soft: Soft,
    soft_source: usize,
}

/// Unit vector at an elevation above the level and an azimuth to the right of the eye, degrees.
fn toward(elevation_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    let (e, a) = (elevation_deg.to_radians(), azimuth_deg.to_radians());
    [math::cos(e) * math::sin(a), math::sin(e), math::cos(e) * math::cos(a)]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl Lights {
    pub(super) fn new(scene: Scene) -> Self {
        let fixed = |light| *table(light, Observer::Deg10);
        let beam = |toward, strength, spread| Beam { toward, strength, source: 0, spread };
        let (sources, beams, soft, soft_source, exposure): (Vec<Weights>, Vec<Beam>, Soft, usize, f64) = match scene {
            Scene::Sun => {
                let sun = toward(45.0, -35.0);
                let soft = outdoors(Sky::Clear, CLEAR_SKY, sun, GROUND * (sun[1] + CLEAR_SKY), 0);
                let sources = vec![daylight::weights(BEAM_K), daylight::weights(CLEAR_K)];
                (sources, vec![beam(sun, 1.0, SUN_SPREAD)], soft, 1, EXPOSURE)
            }
            Scene::Overcast => {
                let soft = outdoors(Sky::Overcast, 1.0, [0.0, 1.0, 0.0], GROUND, 0);
                (vec![daylight::weights(OVERCAST_K)], vec![], soft, 0, EXPOSURE)
            }
            Scene::Lamp => {
                let lamp = beam(toward(35.0, -30.0), 1.0, LAMP_SPREAD);
                (vec![fixed(Illuminant::A)], vec![lamp], Soft::Even(DIM_WALLS), 0, EXPOSURE)
            }
            Scene::Tube => {
                let point = |i: usize| {
                    let along = TUBE_LENGTH * ((i as f64 + 0.5) / TUBE_POINTS as f64 - 0.5);
                    let [_, y, z] = toward(50.0, 0.0);
                    let (sin, cos) = (math::sin(along), math::cos(along));
                    beam([sin, cos * y, cos * z], 1.0 / TUBE_POINTS as f64, TUBE_SPREAD)
                };
                let beams = (0..TUBE_POINTS).map(point).collect();
                (vec![fixed(Illuminant::Fl11)], beams, Soft::Even(LIGHT_WALLS), 0, EXPOSURE)
            }
            Scene::Furnace => (vec![fixed(Illuminant::D65)], vec![], Soft::Even(1.0), 0, 1.0),
        };
        let mut lights = Self { to_screen: Vec::new(), beams, soft, soft_source };
        // What a white card facing the eye gets from each source.
        let on_card: Vec<f64> = (0..sources.len()).map(|source| lights.on_card(source)).collect();
        let all: f64 = on_card.iter().sum();
        let mut white = Xyz { x: 0.0, y: 0.0, z: 0.0 };
        for (weights, part) in sources.iter().zip(&on_card) {
            let own = weigh(&[1.0; 31], weights);
            white = Xyz {
                x: white.x + own.x * part / all,
                y: white.y + own.y * part / all,
                z: white.z + own.z * part / all,
            };
        }
        lights.to_screen = sources
            .iter()
            .map(|weights| {
                weights.map(|[x, y, z]| {
                    multiply(&SCREEN, adapt(Xyz { x, y, z }, white)).map(|linear| linear * exposure / all)
                })
            })
            .collect();
        lights
    }

    /// Radiance from a direction, by source.
    pub(super) fn soft(&self, from: [f64; 3]) -> [f64; 2] {
        let mut by_source = [0.0; 2];
        match self.soft {
            Soft::Even(level) => by_source[self.soft_source] += level,
            Soft::Outdoors { sky, zenith, sun, ground, ground_source } => {
                // From ground to sky in a smooth step.
                let t = ((from[1] + HORIZON) / (2.0 * HORIZON)).clamp(0.0, 1.0);
                let above = t * t * (3.0 - 2.0 * t);
                let sun_zenith = math::atan2((1.0 - sun[1] * sun[1]).max(0.0).sqrt(), sun[1]);
                by_source[self.soft_source] +=
                    above * zenith * sky.relative(from[1].max(0.0), dot(from, sun), sun_zenith);
                by_source[ground_source] += (1.0 - above) * ground;
            }
        }
        by_source
    }

    /// Irradiance of a card that faces the eye by one source, over pi.
    fn on_card(&self, source: usize) -> f64 {
        let beams = self.beams.iter().filter(|beam| beam.source == source);
        let direct: f64 = beams.map(|beam| beam.strength * beam.toward[2].max(0.0)).sum();
        direct + over_hemisphere(|x, y, z| self.soft([x, y, z])[source])
    }
}

/// Mean over the hemisphere around z, weighted by the cosine.
fn over_hemisphere(f: impl Fn(f64, f64, f64) -> f64) -> f64 {
    const RINGS: usize = 48;
    const TURNS: usize = 96;
    let mut sum = 0.0;
    for ring in 0..RINGS {
        // Even steps in the squared sine are even steps of flux.
        let sin2 = (ring as f64 + 0.5) / RINGS as f64;
        let (sin, cos) = (sin2.sqrt(), (1.0 - sin2).sqrt());
        for turn in 0..TURNS {
            let a = 2.0 * PI * (turn as f64 + 0.5) / TURNS as f64;
            sum += f(sin * math::cos(a), sin * math::sin(a), cos);
        }
    }
    sum / (RINGS * TURNS) as f64
}

/// A sky that gives level ground so much light, over ground of that radiance.
fn outdoors(sky: Sky, level: f64, sun: [f64; 3], ground: f64, ground_source: usize) -> Soft {
    let sun_zenith = math::atan2((1.0 - sun[1] * sun[1]).max(0.0).sqrt(), sun[1]);
    // The zenith is y here, and z in the integral.
    let relative = over_hemisphere(|x, y, z| sky.relative(z, x * sun[0] + y * sun[2] + z * sun[1], sun_zenith));
    Soft::Outdoors { sky, zenith: level / relative, sun, ground, ground_source }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn invariant_a_white_card_facing_the_eye_is_neutral_at_the_exposure() {
        for scene in Scene::ALL {
            let lights = Lights::new(scene);
            let mut rgb = [0.0; 3];
            for (source, to_screen) in lights.to_screen.iter().enumerate() {
                for row in to_screen {
                    for (sum, value) in rgb.iter_mut().zip(row) {
                        *sum += value * lights.on_card(source);
                    }
                }
            }
            for value in rgb {
                assert!((value - EXPOSURE).abs() < 2e-4, "{scene}: {rgb:?}");
            }
        }
    }

    #[test]
    fn invariant_level_ground_gets_the_light_that_was_asked_for() {
        for (scene, wanted) in [(Scene::Sun, CLEAR_SKY), (Scene::Overcast, 1.0)] {
            let Soft::Outdoors { sky, zenith, sun, .. } = Lights::new(scene).soft else { panic!("{scene}") };
            let angle = math::atan2((1.0 - sun[1] * sun[1]).sqrt(), sun[1]);
            let level =
                over_hemisphere(|x, y, z| zenith * sky.relative(z, x * sun[0] + y * sun[2] + z * sun[1], angle));
            assert!((level - wanted).abs() < 1e-9, "{scene}: {level}");
        }
    }

    #[test]
    fn words_and_keys() {
        for scene in Scene::ALL {
            assert_eq!(scene.key().parse::<Scene>(), Ok(scene));
            assert!(!scene.words().is_empty());
        }
        assert!("furnace".parse::<Scene>().is_err(), "a check is no light to judge a paint in");
        assert!("noon".parse::<Scene>().unwrap_err().to_string().contains("sun, overcast, lamp or tube"));
    }
}
