//! From plain words to edits.

use base::Warning;

use super::another::{End, of_another};
use super::jump::{jumps, smooth};
use super::possible::possible;
use super::want::{Said, Want};
use super::words::{self, Whole, listed};
use super::{BriefError, Edit, check, edited};
use crate::geometry::Geometry;
use crate::lab::{Lab, Lch};
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;
use crate::travel::{DOUBTFUL_CHROMA, GREY_CHROMA, STILL_HUE_DEG, hue_name, next_name, turn_deg};

/// All that is asked of a donor.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Plain words, each want at most once, in any order.
    pub said: &'a [Said],
    /// A second paint whose face is wanted.
    pub face_of: Option<&'a Measurement>,
    /// A second paint whose flop is wanted.
    pub flop_of: Option<&'a Measurement>,
    /// Changes by hand, on top of all else; they touch a kept face too.
    pub by_hand: &'a [Edit],
}

/// What comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// One edit at most for each angle, by rising angle, in hundredths; a surface can follow them, so
    /// [`super::wish`] takes them.
    pub edits: Vec<Edit>,
    /// Every measured angle.
    pub angles: Vec<AngleTold>,
    /// The whole in words: `Keep the orange face. Take the violet out of the flop.`
    pub sentence: String,
    /// The nearest wish without a jump between neighbouring angles, where there is one.
    pub smoother: Option<Vec<Edit>>,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
}

/// What happens at one angle.
#[derive(Debug, Clone, PartialEq)]
pub struct AngleTold {
    /// Where.
    pub geometry: Geometry,
    /// The donor (D65, 10 degrees).
    pub before: Lab,
    /// What is wanted (D65, 10 degrees).
    pub after: Lab,
    /// `75°: 3 lighter, 12 greyer, hue 45° from violet towards red`.
    pub words: String,
}

/// Adds up words, a second paint and changes by hand.
///
/// What cannot be done is left out with a warning, and what no surface can follow is pulled back, so that
/// a slider or a drag always gives an answer.
///
/// # Errors
/// [`BriefError`] when an amount is not 0 to 1, a want comes twice, or a change by hand is at an angle that
/// was not measured, comes twice or is out of range.
pub fn tell(donor: &Measurement, asked: &Asked<'_>) -> Result<Told, BriefError> {
    let said = in_order(asked.said)?;
    check(donor, asked.by_hand)?;
    let mut sheet = Sheet::new(donor);
    sheet.unknown();
    for (other, end) in [(asked.face_of, End::Face), (asked.flop_of, End::Flop)] {
        if let Some(other) = other {
            sheet.take(donor, other, end);
        }
    }
    let (face, going) = (sheet.face().map(|face| face.now.lab()), sheet.going());
    sheet.kept = said.iter().any(|said| said.want == Want::KeepFace);
    for one in &said {
        sheet.carry_out(one, &said);
    }
    sheet.by_hand(asked.by_hand);

    let changes: Vec<Edit> = sheet.angles.iter().filter_map(Angle::edit).collect();
    let held = possible(donor, &changes)?;
    let edits: Vec<Edit> = held.edits.iter().filter_map(rounded).collect();
    let mut warnings = sheet.warnings;
    warnings.extend(held.warnings);
    let moved: Vec<(Geometry, Lab, Lab)> = sheet
        .angles
        .iter()
        .map(|angle| {
            let edit = edits.iter().find(|edit| edit.geometry == angle.geometry);
            let after = edit.map_or(angle.before, |edit| edited(angle.before.lch(), edit).lab());
            (angle.geometry, angle.before, after)
        })
        .collect();
    warnings.extend(jumps(&moved));
    let keep: Vec<Geometry> =
        sheet.angles.iter().filter(|angle| sheet.kept && angle.face > 0.5).map(|angle| angle.geometry).collect();
    let smoother = match smooth(donor, &edits, &keep)? {
        Some(smoother) => Some(possible(donor, &smoother)?.edits.iter().filter_map(rounded).collect()),
        None => None,
    };
    let by_hand = asked.by_hand.iter().filter(|edit| rounded(edit).is_some()).map(|edit| edit.geometry);
    let mut by_hand: Vec<Geometry> = by_hand.collect();
    by_hand.sort();
    let whole =
        Whole { said: &said, face, going, face_of: asked.face_of.is_some(), flop_of: asked.flop_of.is_some(), by_hand };
    let sentence = whole.sentence();
    let angles = moved.into_iter().map(|(geometry, before, after)| AngleTold {
        geometry,
        before,
        after,
        words: words::of_angle(geometry, before, after),
    });
    Ok(Told { edits, angles: angles.collect(), sentence, smoother, warnings })
}

/// What was said, checked, in the order of [`Want::ALL`], without what is asked for by nothing.
fn in_order(said: &[Said]) -> Result<Vec<Said>, BriefError> {
    for (i, one) in said.iter().enumerate() {
        if !(0.0..=1.0).contains(&one.amount) {
            return Err(BriefError::Amount { want: one.want, value: one.amount });
        }
        if said.iter().take(i).any(|other| other.want == one.want) {
            return Err(BriefError::SaidTwice { want: one.want });
        }
    }
    let mut said: Vec<Said> = said.iter().copied().filter(|one| one.amount > 0.0).collect();
    said.sort_by_key(|one| one.want);
    Ok(said)
}

/// An edit in hundredths; none when nothing is left. A hundredth is below what anybody sees or measures.
fn rounded(edit: &Edit) -> Option<Edit> {
    let hundredths = |value: f64, most: f64| ((100.0 * value).round() / 100.0).clamp(-most, most);
    let edit = Edit {
        geometry: edit.geometry,
        dl: hundredths(edit.dl, 200.0),
        dc: hundredths(edit.dc, 200.0),
        dh_deg: hundredths(edit.dh_deg, 360.0),
    };
    (edit.dl != 0.0 || edit.dc != 0.0 || edit.dh_deg != 0.0).then_some(edit)
}

/// One angle on the way from the donor to what is wanted.
struct Angle {
    geometry: Geometry,
    before: Lab,
    /// The hue here may leave 0..360, so that its change is the one that was asked for.
    now: Lch,
    /// How much of the face it is, 0 to 1.
    face: f64,
    /// How much of the flop it is, 0 to 1.
    flop: f64,
}

impl Angle {
    fn edit(&self) -> Option<Edit> {
        let before = self.before.lch();
        let dh_deg = if self.now.c > 0.0 { self.now.h_deg - before.h_deg } else { 0.0 };
        let edit = Edit { geometry: self.geometry, dl: self.now.l - before.l, dc: self.now.c - before.c, dh_deg };
        // A colour from far outside, added up from words and hand, is pulled back by `possible`.
        let edit = Edit {
            dl: edit.dl.clamp(-200.0, 200.0),
            dc: edit.dc.clamp(-200.0, 200.0),
            dh_deg: edit.dh_deg.clamp(-360.0, 360.0),
            ..edit
        };
        rounded(&edit)
    }

    fn has_hue(&self) -> bool {
        self.now.c >= GREY_CHROMA
    }
}

/// The donor by angle, while it is changed.
struct Sheet {
    angles: Vec<Angle>,
    /// Whether the face stays.
    kept: bool,
    warnings: Vec<Warning>,
}

/// Half of what is done to the flop or the face is done to the flash between them, so that no jump is made.
const FLASH_SHARE: f64 = 0.5;
/// The least that the full amount changes, in L\* or C\*ab, where a share of the paint's own would be little
/// (our choice).
const AT_LEAST: f64 = 10.0;
/// What the full amount of a brighter face adds, in L\* (our choice).
const BRIGHTER: f64 = 15.0;

impl Sheet {
    fn new(donor: &Measurement) -> Self {
        let labs = donor.labs(Illuminant::D65, Observer::Deg10);
        let has = |end: End| labs.iter().any(|(geometry, _)| end.holds(*geometry));
        let angles = labs.iter().map(|(geometry, lab)| {
            // Without a face the flash is the nearest to one, and an only angle is the whole paint.
            let stands_in = !has(End::Face) && (*geometry == Geometry::As45 || labs.len() == 1);
            let (face, flop) = match geometry {
                _ if stands_in => (1.0, 0.0),
                Geometry::AsMinus15 | Geometry::As15 | Geometry::As25 => (1.0, 0.0),
                Geometry::As45 => (FLASH_SHARE, FLASH_SHARE),
                Geometry::As75 | Geometry::As110 => (0.0, 1.0),
            };
            Angle { geometry: *geometry, before: *lab, now: lab.lch(), face, flop }
        });
        Self { angles: angles.collect(), kept: false, warnings: Vec::new() }
    }

    fn warn(&mut self, text: String) {
        self.warnings.push(Warning::new(text));
    }

    /// Says what a measurement of few angles cannot tell.
    fn unknown(&mut self) {
        let names: Vec<String> = self.angles.iter().map(|angle| angle.geometry.to_string()).collect();
        if let [only] = names.as_slice() {
            self.warn(format!(
                "one angle only ({only}): it stands for the whole paint; what the paint does in face and flop, and \
                 whether it holds flakes, cannot be known from it"
            ));
            return;
        }
        let has = |end: End| self.angles.iter().any(|angle| end.holds(angle.geometry));
        let mut unknown = Vec::new();
        if !has(End::Face) {
            unknown.push("how bright the face is (the flash stands in for it)".to_owned());
        }
        if !has(End::Flop) {
            unknown.push("how dark the flop is and whether its hue travels".to_owned());
        }
        if self.angles.len() < 4 {
            unknown.push("what an interference colour does between and beyond the angles".to_owned());
        }
        if !unknown.is_empty() {
            self.warn(format!("measured at {} only: {} cannot be known", listed(&names), listed(&unknown)));
        }
    }

    /// The face angle that others are held against: 15, else 25, else -15, else what stands in.
    fn face(&self) -> Option<&Angle> {
        let at = |geometry: Geometry| self.angles.iter().find(|angle| angle.geometry == geometry);
        at(Geometry::As15)
            .or_else(|| at(Geometry::As25))
            .or_else(|| at(Geometry::AsMinus15))
            .or_else(|| self.angles.iter().find(|angle| angle.face > 0.5))
    }

    /// Takes an end of another paint.
    fn take(&mut self, donor: &Measurement, other: &Measurement, end: End) {
        let (edits, warnings) = of_another(donor, other, end);
        for edit in edits {
            if let Some(angle) = self.angles.iter_mut().find(|angle| angle.geometry == edit.geometry) {
                let before = angle.before.lch();
                angle.now = Lch { h_deg: before.h_deg + edit.dh_deg, ..edited(before, &edit) };
            }
        }
        self.warnings.extend(warnings);
    }

    /// How far each angle's hue has travelled from the face's, in degrees: followed from angle to angle, so
    /// that a travel past half a turn keeps its direction. None at the face, and where there is no hue.
    fn travel(&self) -> Vec<Option<f64>> {
        let Some(face) = self.face().filter(|face| face.has_hue()) else { return vec![None; self.angles.len()] };
        let (mut at, mut travelled) = (face.now.h_deg.rem_euclid(360.0), 0.0);
        let mut travel = Vec::new();
        for angle in &self.angles {
            if angle.face > 0.5 || !angle.has_hue() {
                travel.push(None);
                continue;
            }
            let here = angle.now.h_deg.rem_euclid(360.0);
            travelled += turn_deg(at, here);
            at = here;
            travel.push(Some(travelled));
        }
        travel
    }

    /// The name of the hue that the flop has and the face has not; or the direction of travel, and true,
    /// where both bear one name.
    fn going(&self) -> Option<(&'static str, bool)> {
        let travel = self.travel();
        let (angle, turn) =
            self.angles.iter().zip(&travel).rev().find_map(|(angle, turn)| turn.map(|turn| (angle, turn)))?;
        let from = hue_name(self.face()?.now.h_deg.rem_euclid(360.0));
        let name = hue_name(angle.now.h_deg.rem_euclid(360.0));
        Some(if name == from { (next_name(from, turn > 0.0), true) } else { (name, false) })
    }

    /// Does what one want says, or says why it does nothing.
    fn carry_out(&mut self, said: &Said, all: &[Said]) {
        let Said { want, amount } = *said;
        if let Some(other) = want.opposite()
            && want < other
            && all.iter().any(|said| said.want == other)
        {
            self.warn(format!("\"{want}\" and \"{other}\" say opposite things: both are done; take one of them out"));
        }
        if self.kept && matches!(want, Want::BrighterFace | Want::CalmerFace) {
            self.warn(format!("the face is kept, so \"{want}\" does nothing"));
            return;
        }
        let done = match want {
            Want::KeepFace => true,
            Want::LoseHueTravel => self.lose_travel(amount),
            Want::LiftFlop => {
                let face = self.face().map_or(0.0, |face| face.now.l);
                self.flop(|angle| angle.now.l += amount * angle.flop * (0.5 * (face - angle.now.l)).max(AT_LEAST))
            }
            Want::DeepenFlop => self.flop(|angle| angle.now.l -= amount * angle.flop * 0.5 * angle.now.l.max(0.0)),
            Want::LessFlopColour => self.flop(|angle| angle.now.c *= 1.0 - amount * angle.flop),
            Want::MoreFlopColour => self.more_colour(amount),
            Want::Quieter => {
                let kept = self.kept;
                let free = self.angles.iter_mut().filter(|angle| !(kept && angle.face > 0.5));
                free.map(|angle| angle.now.c *= 1.0 - 0.5 * amount).count() > 0
            }
            Want::BrighterFace => self.face_by(|angle| amount * angle.face * BRIGHTER),
            Want::CalmerFace => {
                let flash = self.angles.iter().find(|angle| angle.geometry == Geometry::As45).map(|angle| angle.now.l);
                self.face_by(|angle| {
                    let above = flash.map_or(0.0, |flash| 0.5 * (angle.now.l - flash));
                    -(amount * angle.face * above.max(AT_LEAST)).min(angle.now.l.max(0.0))
                })
            }
        };
        if !done {
            self.warn(format!("\"{want}\" does nothing: no angle was measured that it could change"));
        }
    }

    /// Changes what belongs to the flop; false when nothing does.
    fn flop(&mut self, change: impl Fn(&mut Angle)) -> bool {
        self.angles.iter_mut().filter(|angle| angle.flop > 0.0).map(change).count() > 0
    }

    /// Changes the lightness of what belongs to the face; false when nothing does.
    fn face_by(&mut self, change: impl Fn(&Angle) -> f64) -> bool {
        self.angles.iter_mut().filter(|angle| angle.face > 0.0).map(|angle| angle.now.l += change(angle)).count() > 0
    }

    fn lose_travel(&mut self, amount: f64) -> bool {
        if self.face().is_none_or(|face| !face.has_hue()) {
            self.warn("the face is grey and has no hue: the flop's hue cannot be turned to it".into());
            return true;
        }
        let travel = self.travel();
        let farthest = travel.iter().flatten().fold(0.0, |most: f64, turn| most.max(turn.abs()));
        let mut doubtful = Vec::new();
        let mut past_face = false;
        for (angle, turn) in self.angles.iter_mut().zip(travel) {
            past_face |= angle.face < 1.0;
            let Some(turn) = turn else { continue };
            if angle.now.c < DOUBTFUL_CHROMA && turn.abs() > STILL_HUE_DEG {
                doubtful.push(format!("{} ({})", angle.geometry, angle.geometry.word()));
            }
            angle.now.h_deg -= amount * turn;
        }
        if past_face && farthest < STILL_HUE_DEG {
            self.warn(format!("the flop has the face's hue already, within {farthest:.1} degrees: little to lose"));
        }
        if !doubtful.is_empty() {
            self.warn(format!(
                "{} near grey: the hue there is doubtful, and turning it shows little",
                listed(&doubtful)
            ));
        }
        past_face
    }

    fn more_colour(&mut self, amount: f64) -> bool {
        let face_hue = self.face().filter(|face| face.has_hue()).map(|face| face.now.h_deg);
        let mut grey = Vec::new();
        let mut done = false;
        for angle in self.angles.iter_mut().filter(|angle| angle.flop > 0.0) {
            done = true;
            if !angle.has_hue() {
                match face_hue {
                    // The shorter way from the hue that the grey has by chance.
                    Some(hue) => {
                        let here = angle.now.h_deg;
                        angle.now.h_deg = here + turn_deg(here.rem_euclid(360.0), hue.rem_euclid(360.0));
                    }
                    None => {
                        grey.push(angle.geometry.to_string());
                        continue;
                    }
                }
            }
            angle.now.c += amount * angle.flop * (0.5 * angle.now.c).max(AT_LEAST);
        }
        if !grey.is_empty() {
            self.warn(format!("{}: grey, as the face is: there is no hue to make more of", listed(&grey)));
        }
        done
    }

    /// Adds changes by hand.
    fn by_hand(&mut self, edits: &[Edit]) {
        for edit in edits {
            let Some(angle) = self.angles.iter_mut().find(|angle| angle.geometry == edit.geometry) else { continue };
            let h_deg = angle.now.h_deg;
            angle.now = Lch { h_deg: h_deg + edit.dh_deg, ..edited(angle.now, edit) };
            let on_face = angle.face > 0.5;
            if self.kept && on_face && rounded(edit).is_some() {
                self.warn(format!("{}: the face is kept, and yet changed by hand here", edit.geometry));
            }
        }
    }
}
