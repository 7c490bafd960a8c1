//! What the shop's own cars have taught it, and how well it had foretold them.

use std::collections::BTreeMap;
use std::io::{self, Write};

use ::forecast::learn::InBin;
use ::schedule::factor::Over;
use job::catalogue::TaughtShare;
use job::ids::CarId;
use job::lessons::{Lesson, taught_by};
use job::pace::{Finished, Pace};
use job::shop::Shop;
use serde::Serialize;

use crate::answer::{Answer, columns, row};
use crate::stop::Stop;

#[derive(Debug, Serialize)]
pub(super) struct Learned {
    invented: bool,
    /// How many cars of the other kind taught something, which is not told here.
    others: usize,
    cars: Vec<Taught>,
    rates: Vec<Rate>,
    clues: Vec<Clue>,
    calibration: Vec<Bin>,
    brier: Brier,
    hours: Hours,
}

#[derive(Debug, Serialize)]
struct Taught {
    car: CarId,
    title: String,
    zones: usize,
    bad: usize,
    finished: usize,
}

/// A base rate: the starting guess and what it is now, with a range that holds it nine times in ten.
#[derive(Debug, Serialize)]
struct Rate {
    zone: String,
    name: String,
    start: f64,
    now: f64,
    low: f64,
    high: f64,
    opened: usize,
    bad: usize,
    taught_by: Vec<By>,
}

#[derive(Debug, Serialize)]
struct By {
    car: CarId,
    entry: u64,
    zone: String,
    bad: bool,
    foretold: f64,
}

#[derive(Debug, Serialize)]
struct Clue {
    clue: String,
    say: String,
    bad: Share,
    sound: Share,
}

#[derive(Debug, Serialize)]
struct Share {
    start: f64,
    now: f64,
    low: f64,
    high: f64,
    looked: usize,
    there: usize,
}

/// The zones called so likely, and how many of them needed metal.
#[derive(Debug, Serialize)]
struct Bin {
    from: f64,
    to: f64,
    zones: usize,
    bad: usize,
    foretold: f64,
    share: f64,
    low: f64,
    high: f64,
}

/// How far off the chances were: 0 knows all, 0.25 says one in two of everything.
#[derive(Debug, Serialize)]
struct Brier {
    zones: usize,
    starting_guesses: Option<f64>,
    learned: Option<f64>,
}

/// The shop's own factor on hours and what it was learned from.
#[derive(Debug, Serialize)]
struct Hours {
    median: f64,
    p10: f64,
    p90: f64,
    pieces: usize,
    over: Vec<Beaten>,
    finished: Vec<Piece>,
}

/// Of the finished zones, how many took more hours than this quantile foretold.
#[derive(Debug, Serialize)]
struct Beaten {
    quantile: f64,
    over: usize,
    expected: f64,
    low: usize,
    high: usize,
}

#[derive(Debug, Serialize)]
struct Piece {
    car: CarId,
    entry: u64,
    zone: String,
    foretold_p50_h: f64,
    foretold_p95_h: f64,
    worked_h: f64,
}

impl Learned {
    /// What the real cars, or the invented ones, have taught.
    pub(super) async fn of(shop: &Shop, invented: bool) -> Result<Self, Stop> {
        let learned = shop.learned(invented).await?;
        let (lessons, taught) = (&learned.lessons, &learned.taught);
        let cars = cars(shop, lessons, &learned.finished).await?;
        let kept = learned.scores.as_ref().map_err(Stop::failed)?;
        let rates = taught.rates.iter().map(|rate| Rate {
            name: shop.catalogue().zone(&rate.zone_id).map(|zone| zone.name.clone()).unwrap_or_default(),
            zone: rate.zone_id.clone(),
            start: rate.start,
            now: rate.mean,
            low: rate.low,
            high: rate.high,
            opened: rate.opened,
            bad: rate.bad,
            taught_by: taught_by(lessons, &rate.zone_id).into_iter().map(By::from).collect(),
        });
        let clues = taught.clues.iter().map(|clue| Clue {
            say: shop.catalogue().clue(&clue.clue_id).map(|row| row.clue.clone()).unwrap_or_default(),
            clue: clue.clue_id.clone(),
            bad: (&clue.bad).into(),
            sound: (&clue.sound).into(),
        });
        let bins = kept.start.bins.iter().filter_map(|bin| Some(Bin::of(bin.from, bin.to, &bin.zones?)));
        Ok(Self {
            invented,
            others: learned.others,
            rates: rates.collect(),
            clues: clues.collect(),
            calibration: bins.collect(),
            brier: Brier { zones: kept.start.count, starting_guesses: kept.start.brier, learned: kept.learned.brier },
            hours: Hours::of(&learned.pace, &learned.finished),
            cars,
        })
    }
}

/// Every car that taught something.
async fn cars(shop: &Shop, lessons: &[Lesson], finished: &[Finished]) -> Result<Vec<Taught>, Stop> {
    let mut counts: BTreeMap<CarId, (usize, usize, usize)> = BTreeMap::new();
    for lesson in lessons {
        let (zones, bad, _) = counts.entry(lesson.car).or_default();
        *zones += 1;
        *bad += usize::from(lesson.bad);
    }
    for one in finished {
        counts.entry(one.car).or_default().2 += 1;
    }
    let mut cars = Vec::new();
    for (car, (zones, bad, finished)) in counts {
        let title = shop.car(car).await?.details.title.clone();
        cars.push(Taught { car, title, zones, bad, finished });
    }
    Ok(cars)
}

impl From<&Lesson> for By {
    fn from(lesson: &Lesson) -> Self {
        let Lesson { car, entry, instance, bad, foretold, .. } = lesson.clone();
        Self { car, entry, zone: instance, bad, foretold }
    }
}

impl From<&TaughtShare> for Share {
    fn from(share: &TaughtShare) -> Self {
        let TaughtShare { start, mean, low, high, looked, there } = *share;
        Self { start, now: mean, low, high, looked, there }
    }
}

impl Bin {
    fn of(from: f64, to: f64, zones: &InBin) -> Self {
        let InBin { count, bad, foretold, share, low, high } = *zones;
        Self { from, to, zones: count, bad, foretold, share, low, high }
    }
}

impl Hours {
    fn of(pace: &Pace, finished: &[Finished]) -> Self {
        let beaten = |over: &Over| {
            let Over { quantile, count, expected, low, high } = *over;
            Beaten { quantile, over: count, expected, low, high }
        };
        let piece = |one: &Finished| Piece {
            car: one.car,
            entry: one.entry,
            zone: one.zone.clone(),
            foretold_p50_h: one.foretold.p50,
            foretold_p95_h: one.foretold.p95,
            worked_h: one.worked_h,
        };
        Self {
            median: pace.factor.median,
            p10: pace.factor.p10,
            p90: pace.factor.p90,
            pieces: pace.factor.pieces,
            over: pace.kept.iter().flat_map(|kept| kept.over.iter().map(beaten)).collect(),
            finished: finished.iter().map(piece).collect(),
        }
    }
}

impl Answer for Learned {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let kind = if self.invented { "invented" } else { "real" };
        if self.cars.is_empty() {
            writeln!(out, "No {kind} car has taught anything yet: no zone of one is known from inside.")?;
        } else {
            writeln!(out, "What {} {kind} cars have taught:", self.cars.len())?;
            let mut rows = vec![row!["", "car", "zones known", "of them bad", "finished with hours", "id"]];
            rows.extend(
                (1..).zip(&self.cars).map(|(n, c): (usize, _)| row![n, c.title, c.zones, c.bad, c.finished, c.car]),
            );
            columns(out, &rows)?;
        }
        if self.others > 0 {
            let other = if self.invented {
                "real cars, which are told without --invented"
            } else {
                "invented cars: --invented"
            };
            writeln!(out, "Not counted: {} {other}", self.others)?;
        }
        let two = |p: f64| format!("{p:.2}");
        if !self.rates.is_empty() {
            writeln!(out)?;
            let mut rows = vec![row![
                "zone",
                "name",
                "starting guess",
                "now",
                "from",
                "to",
                "known",
                "bad",
                "taught by car.entry"
            ]];
            rows.extend(self.rates.iter().map(|r| {
                let by: Vec<String> = r.taught_by.iter().map(|by| self.said(by)).collect();
                row![r.zone, r.name, two(r.start), two(r.now), two(r.low), two(r.high), r.opened, r.bad, by.join(", ")]
            }));
            columns(out, &rows)?;
        }
        if !self.clues.is_empty() {
            writeln!(out)?;
            let heading =
                row!["clue", "what", "there if bad: guess", "now", "looked", "there if sound: guess", "now", "looked"];
            let mut rows = vec![heading];
            rows.extend(self.clues.iter().map(|c| {
                let (b, s) = (&c.bad, &c.sound);
                row![c.clue, c.say, two(b.start), two(b.now), b.looked, two(s.start), two(s.now), s.looked]
            }));
            columns(out, &rows)?;
        }
        self.kept(out)?;
        let hours = &self.hours;
        match hours.pieces {
            0 => writeln!(out, "\nFactor on hours: 1, a starting guess; no finished zone has its hours put down."),
            pieces => {
                let (median, p10, p90) = (hours.median, hours.p10, hours.p90);
                writeln!(
                    out,
                    "\nFactor on hours from {pieces} finished zones: {median:.2}, likely {p10:.2} to {p90:.2}."
                )
            }
        }?;
        hours.over.iter().try_for_each(|over| {
            let Beaten { quantile, over, expected, low, high } = *over;
            let p = quantile * 100.0;
            writeln!(out, "  over P{p:.0}: {over} of them; {expected:.1} expected, {low} to {high} usual")
        })
    }
}

impl Learned {
    /// The number of the car in the list above, and the entry.
    fn said(&self, by: &By) -> String {
        let place = self.cars.iter().position(|car| car.car == by.car).map_or(0, |at| at + 1);
        format!("{place}.{}", by.entry)
    }

    /// How well the zones were foretold.
    fn kept(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.calibration.is_empty() {
            return Ok(());
        }
        writeln!(out)?;
        let mut rows = vec![row!["called, in 10", "zones", "needed metal", "would be, at the mean called"]];
        rows.extend(self.calibration.iter().map(|bin| {
            let called = format!("{:.0} to {:.0}", bin.from * 10.0, bin.to * 10.0);
            row![called, bin.zones, bin.bad, format!("{:.1}", bin.foretold * bin.zones as f64)]
        }));
        columns(out, &rows)?;
        if let (Some(start), Some(learned)) = (self.brier.starting_guesses, self.brier.learned) {
            writeln!(
                out,
                "Brier score, 0 being best: {start:.3} by the starting guesses, {learned:.3} with the base rates that the other cars taught"
            )?;
        }
        Ok(())
    }
}
