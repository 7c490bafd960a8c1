//! A brief kept in the record of a car: what is liked about a measured paint and what is not.

use std::io::{self, Write};

use clap::Args;
use jiff::Timestamp;
use job::car::Car;
use job::ids::{CarId, EntryId, Hash};
use job::mixing::BriefEdit;
use job::paintwork::{self, briefs, briefs::Briefing};
use job::shop::{Draft, Shop};
use job::what::What;
use serde::Serialize;

use crate::answer::{Answer, columns, doubt, row, say};
use crate::colour::asked::Asked;
use crate::shop::{Everywhere, Missing, person};
use crate::stop::Stop;

/// Keep a brief: what is wanted of a measured paint and what is not.
#[derive(Debug, Args)]
pub(crate) struct Brief {
    /// The car.
    id: CarId,
    /// The shop's name for it.
    #[arg(long, value_name = "NAME")]
    name: String,
    /// The number of the entry with the measured paint it starts from.
    #[arg(long, value_name = "ENTRY")]
    donor: u64,
    #[command(flatten)]
    asked: Asked,
    /// The number of the entry with a second measured paint whose face is wanted.
    #[arg(long, value_name = "ENTRY")]
    face_of: Option<u64>,
    /// The number of the entry with a second measured paint whose flop is wanted.
    #[arg(long, value_name = "ENTRY")]
    flop_of: Option<u64>,
    /// Why, in the owner's or the shop's own words.
    #[arg(long, value_name = "WORDS", default_value = "")]
    why: String,
    /// Anything else.
    #[arg(long, default_value = "")]
    note: String,
    /// Who writes.
    #[arg(long, value_name = "NAME")]
    by: String,
}

impl Brief {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        say(&self.keep(&everywhere.shop(Missing::Refuse).await?).await?, everywhere.json)
    }

    async fn keep(self, shop: &Shop) -> Result<Kept, Stop> {
        let by = person(shop, &self.by).await?.id;
        let car = shop.car(self.id).await?;
        let other = |flag, seq: Option<u64>| seq.map(|seq| measured(&car, flag, seq)).transpose();
        let briefing = Briefing {
            name: self.name.clone(),
            donor: measured(&car, "--donor", self.donor)?,
            words: self.asked.say,
            face_of: other("--face-of", self.face_of)?,
            flop_of: other("--flop-of", self.flop_of)?,
            by_hand: self.asked.edit,
            weights: self.asked.weight,
            why: self.why,
            note: self.note,
        };
        let telling = briefs::tell(&car, &briefing).map_err(Stop::input)?;
        doubt(&telling.told.warnings);
        let edits = telling.briefed.brief.edits.clone();
        let what = What::Briefed(telling.briefed);
        let draft = Draft {
            entry: EntryId::fresh(),
            base: Some(car.count),
            by,
            noted: None,
            corrects: None,
            keep_both: false,
            what,
        };
        let kept = shop.keep(self.id, &draft, Timestamp::now()).await?;
        let head = shop.car(self.id).await?.head;
        let warnings = telling.told.warnings.into_iter().map(|warning| warning.what).collect();
        Ok(Kept {
            car: self.id,
            entry: kept.seq,
            name: self.name,
            sentence: telling.told.sentence,
            edits,
            warnings,
            head,
        })
    }
}

/// The measured paint of this entry.
fn measured(car: &Car, flag: &str, seq: u64) -> Result<EntryId, Stop> {
    let targets = paintwork::targets(car);
    if let Some((entry, _)) = targets.iter().find(|(entry, _)| entry.seq == seq) {
        return Ok(entry.id);
    }
    let known: Vec<String> = targets.iter().map(|(entry, paint)| format!("{} ({})", entry.seq, paint.name)).collect();
    let known = if known.is_empty() { "none yet".into() } else { known.join(", ") };
    Err(Stop::input(format!("{flag}: entry {seq} is no measured paint of this car that counts; there are: {known}")))
}

#[derive(Debug, Serialize)]
struct Kept {
    car: CarId,
    entry: u64,
    name: String,
    sentence: String,
    edits: Vec<BriefEdit>,
    warnings: Vec<String>,
    head: Hash,
}

impl Answer for Kept {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "entry {}: {}\n", self.entry, self.sentence)?;
        let mut rows = vec![row!["angle", "lighter", "stronger", "hue, degrees"]];
        rows.extend(self.edits.iter().map(|edit| row![edit.geometry, edit.dl, edit.dc, edit.dh_deg]));
        columns(out, &rows)
    }
}
