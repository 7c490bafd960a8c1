//! Hours worked, put down from a time sheet.

use std::io::{self, Write};

use clap::Args;
use jiff::Timestamp;
use job::ids::{CarId, EntryId, Hash};
use job::shop::{Draft, Shop};
use job::what::What;
use job::worked::{Part, Worked};
use serde::Serialize;

use crate::answer::{Answer, columns, row, say};
use crate::key::keyed;
use crate::shop::{Everywhere, Missing, person};
use crate::stop::Stop;

/// Put down hours that were worked.
#[derive(Debug, Args)]
pub(crate) struct Hours {
    /// The car.
    id: CarId,
    /// How many hours.
    #[arg(long, value_name = "HOURS", allow_negative_numbers = true)]
    hours: f64,
    /// What part of the job they went into.
    #[arg(long, value_parser = keyed!(Part))]
    part: Part,
    /// The zone instance, such as Z01.L; without it the car as a whole.
    #[arg(long, value_name = "ZONE")]
    zone: Option<String>,
    /// Anything else.
    #[arg(long, default_value = "")]
    note: String,
    /// Who writes.
    #[arg(long, value_name = "NAME")]
    by: String,
}

impl Hours {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        say(&self.keep(&everywhere.shop(Missing::Refuse).await?).await?, everywhere.json)
    }

    async fn keep(self, shop: &Shop) -> Result<Kept, Stop> {
        let by = person(shop, &self.by).await?.id;
        let (zone, part, hours_h) = (self.zone, self.part, self.hours);
        let what = What::Worked(Worked { zone: zone.clone(), part, hours_h, note: self.note });
        let draft =
            Draft { entry: EntryId::fresh(), base: None, by, noted: None, corrects: None, keep_both: false, what };
        let kept = shop.keep(self.id, &draft, Timestamp::now()).await?;
        let car = shop.car(self.id).await?;
        let so_far_h = car.worked_h(zone.as_deref());
        Ok(Kept { car: self.id, zone, part: part.key(), hours_h, so_far_h, entry: kept.seq, head: car.head })
    }
}

#[derive(Debug, Serialize)]
struct Kept {
    car: CarId,
    zone: Option<String>,
    part: &'static str,
    hours_h: f64,
    /// On this zone, or on the whole car where none is named.
    so_far_h: f64,
    entry: u64,
    head: Hash,
}

impl Answer for Kept {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let zone = self.zone.as_deref().unwrap_or("the whole car");
        let heading = row!["zone", "part", "hours", "so far", "entry"];
        columns(out, &[heading, row![zone, self.part, self.hours_h, self.so_far_h, self.entry]])
    }
}
