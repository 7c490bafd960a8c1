//! An entry in words: one line of what was found, read or done, and what the person wrote besides.

use super::{Seen, What};

impl What {
    /// One line of plain words: what was found, read or done.
    pub fn say(&self) -> String {
        match self {
            Self::CarOpened(x) => format!("{} opened", x.title),
            Self::CarChanged(x) => format!("Details of {}", x.title),
            Self::StageReached(x) => x.stage.words().to_string(),
            Self::Looked(x) => match x.seen {
                Seen::NotLooked => format!("{}: could not be seen", x.how.words()),
                Seen::Clear => format!("{}: clear", x.how.words()),
                Seen::Bad(severity) => format!("{}: bad, {}", x.how.words(), severity.words()),
            },
            Self::Read(x) => {
                format!("{} {} \u{b1} {}", x.quantity.words(), x.quantity.show(x.value), x.quantity.show(x.good_to()))
            }
            Self::Photographed(x) => x.caption.clone(),
            Self::Opened(x) => match x.found {
                None => "Opened: sound".into(),
                Some(severity) => match x.extent_mm {
                    Some((length, width)) => format!("Opened: {}, {length:.0} x {width:.0} mm", severity.words()),
                    None => format!("Opened: {}", severity.words()),
                },
            },
            Self::MadeGood(_) => "Made good".into(),
            Self::Worked(x) => format!("{} h: {}", crate::validate::plain(x.hours_h), x.part.words()),
            Self::Measured(x) if x.is_picture() => {
                format!("{}, {} areas of a picture: not a measurement", x.name, x.areas.len())
            }
            Self::Measured(x) => format!("{}, {} angles", x.name, x.spectra.len()),
            Self::Shelved(x) => format!(
                "{}: {} toners from {} panels, difference {:.1} on average",
                x.name, x.toners, x.panels, x.mean_de00
            ),
            Self::Briefed(x) if x.brief.edits.is_empty() => format!("{}: as it is", x.name),
            Self::Briefed(x) => format!("{}: changed at {} angles", x.name, x.brief.edits.len()),
            Self::Formulated(x) => format!(
                "{}{}: {} toners over {}, difference {:.1} predicted",
                x.name,
                if x.after.is_some() { ", corrected" } else { "" },
                x.parts.len(),
                x.primer,
                x.mean_de00
            ),
            Self::Mixed(x) if x.into.is_some() => format!("{:.1} g added to the pot", x.poured_g()),
            Self::Mixed(x) => match x.parts_of_car.len() {
                1 => format!("{:.1} g for one part of the car", x.poured_g()),
                n => format!("{:.1} g for {n} parts of the car", x.poured_g()),
            },
            Self::Carded(x) => match x.master {
                Some(_) => format!("{}, {} angles, master card", x.name, x.spectra.len()),
                None => format!("{}, {} angles", x.name, x.spectra.len()),
            },
            Self::ColourServes(x) => match x.serves.len() {
                1 => "One part of the car".into(),
                n => format!("{n} parts of the car"),
            },
            Self::ClimateRead(x) => format!(
                "Air {:.1} \u{b0}C, {:.0} %, panel {:.1} \u{b0}C: {}",
                x.air_c,
                x.rh_pct,
                x.panel_c,
                if x.spray { "within the limits" } else { "not yet" }
            ),
            Self::FilmJudged(x) => format!(
                "{} readings, mean {:.0} of {:.0} \u{b5}m: {}",
                x.readings_um.len(),
                x.mean_um,
                x.nominal_um,
                if x.accept { "accepted" } else { "not accepted" }
            ),
            Self::Asked(x) if x.sent => x.ask.clone(),
            Self::Asked(x) => format!("Draft: {}", x.ask),
            Self::Answered(x) => match (&x.choice, x.chosen()) {
                (Some(key), Some(choice)) => format!("{key}. {}, {}", choice.title, x.way.words()),
                _ => format!("None of these, {}", x.way.words()),
            },
            Self::OwnerWrote(x) => x.words.clone(),
            Self::Reported(x) => x.says.clone(),
            Self::Withdrawn(x) => x.why.clone(),
            Self::Newer { kind, v } => format!("\"{kind}\", version {v}"),
        }
    }

    /// What the person wrote besides, if anything.
    pub fn note(&self) -> &str {
        match self {
            Self::CarOpened(x) | Self::CarChanged(x) => &x.note,
            Self::Looked(x) => &x.note,
            Self::Read(x) => &x.note,
            Self::Opened(x) => &x.note,
            Self::MadeGood(x) => &x.note,
            Self::Worked(x) => &x.note,
            Self::Measured(x) => &x.note,
            Self::Shelved(x) => &x.note,
            Self::Briefed(x) => &x.note,
            Self::Formulated(x) => &x.note,
            Self::Mixed(x) => &x.note,
            Self::Carded(x) => &x.note,
            Self::ColourServes(x) => &x.note,
            Self::ClimateRead(x) => &x.why,
            Self::FilmJudged(x) => &x.why,
            Self::Answered(x) => &x.words,
            _ => "",
        }
    }
}
