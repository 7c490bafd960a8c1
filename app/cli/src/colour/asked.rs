//! What is asked of a paint on the command line: plain words, changes by angle, weights.

use clap::Args;
use job::mixing::{AngleWeight, BriefEdit, Said, Wanted};
use job::recipe_file::geometry;

/// What is to be other than a measured paint.
#[derive(Debug, Clone, Args)]
pub(crate) struct Asked {
    /// Plain words and how much of them, 0 to 1, such as lose-hue-travel=0.9; all of it when no amount is given;
    /// may be given again.
    #[arg(long, value_name = "WORDS=AMOUNT", value_parser = said)]
    pub(crate) say: Vec<Said>,
    /// A change at one angle on top of the words, such as 75:0,-5,40: lightness, strength and hue in degrees; may
    /// be given again.
    #[arg(long, value_name = "ANGLE:DL,DC,DH", value_parser = edit, allow_hyphen_values = true)]
    pub(crate) edit: Vec<BriefEdit>,
    /// How much an angle counts, such as 15=0.3; may be given again.
    #[arg(long, value_name = "ANGLE=WEIGHT", value_parser = weight, allow_hyphen_values = true)]
    pub(crate) weight: Vec<AngleWeight>,
}

/// Reads plain words and how much of them.
pub(crate) fn said(text: &str) -> Result<Said, String> {
    let (key, amount) = text.split_once('=').map_or((text, "1"), |(key, amount)| (key, amount));
    let what = Wanted::from_key(key.trim()).ok_or_else(|| {
        let keys = Wanted::ALL.iter().map(|known| known.key()).collect::<Vec<_>>().join(", ");
        format!("\"{}\" is nothing one can ask for: one of {keys}", key.trim())
    })?;
    Ok(Said { what, how_much: number(amount, "the amount", 0.0, 1.0)? })
}

/// Reads a change at one angle.
pub(crate) fn edit(text: &str) -> Result<BriefEdit, String> {
    let wanted = "an angle, a colon and three numbers, such as 75:0,-5,40";
    let (angle, changes) = text.split_once(':').ok_or_else(|| format!("needed: {wanted}"))?;
    let [dl, dc, dh] = <[&str; 3]>::try_from(changes.split(',').collect::<Vec<_>>())
        .map_err(|changes| format!("{} numbers after the colon; needed: {wanted}", changes.len()))?;
    Ok(BriefEdit {
        geometry: named(angle)?,
        dl: number(dl, "the change of lightness", -200.0, 200.0)?,
        dc: number(dc, "the change of strength", -200.0, 200.0)?,
        dh_deg: number(dh, "the change of hue", -360.0, 360.0)?,
    })
}

fn weight(text: &str) -> Result<AngleWeight, String> {
    let (angle, weight) = text.split_once('=').ok_or("needed: an angle and its weight, such as 15=0.3")?;
    Ok(AngleWeight { geometry: named(angle)?, weight: number(weight, "the weight", 0.0, 1_000.0)? })
}

fn named(angle: &str) -> Result<String, String> {
    let known = geometry(angle).ok_or_else(|| {
        let angles = colour::Geometry::ALL.map(|known| known.aspecular_deg().to_string()).join(", ");
        format!("\"{}\" is no angle of a measurement: one of {angles}", angle.trim())
    })?;
    Ok(known.to_string())
}

/// A number within limits, named in the refusal.
pub(super) fn number(text: &str, what: &str, low: f64, high: f64) -> Result<f64, String> {
    let found = text.trim().parse().ok().filter(|value| (low..=high).contains(value));
    found.ok_or_else(|| format!("{what} is \"{}\": a number from {low} to {high} is needed", text.trim()))
}

#[cfg(test)]
mod tests {
    use super::{edit, said, weight};

    #[test]
    fn words_changes_and_weights_are_read() {
        let word = said("lose-hue-travel = 0.9").unwrap();
        assert_eq!((word.what.key(), word.how_much), ("lose-hue-travel", 0.9));
        assert_eq!(said("keep-face").unwrap().how_much, 1.0);
        let change = edit("-15:1,-2.5,30").unwrap();
        assert_eq!((change.geometry.as_str(), change.dl, change.dc, change.dh_deg), ("45as-15", 1.0, -2.5, 30.0));
        assert_eq!(weight("110=0").unwrap().geometry, "45as110");
    }

    #[test]
    fn what_is_none_is_refused_in_words() {
        assert!(said("no-violet=1").unwrap_err().contains("lose-hue-travel"));
        assert!(said("keep-face=1.5").unwrap_err().contains("0 to 1"));
        assert!(said("keep-face=NaN").unwrap_err().contains("0 to 1"));
        assert!(edit("75:1,2").unwrap_err().contains("2 numbers"));
        assert!(edit("60:1,2,3").unwrap_err().contains("-15, 15, 25, 45, 75, 110"));
        assert!(edit("75:1,2,900").unwrap_err().contains("-360 to 360"));
        assert!(weight("75:1").unwrap_err().contains("15=0.3"));
    }
}
