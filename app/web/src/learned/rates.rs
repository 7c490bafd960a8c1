//! The rates that were learned, each with the starting guess and with what taught it.

use job::catalogue::{TaughtClue, TaughtShare};
use job::lessons::{Lesson, taught_by};
use job::outlook::{Chance, in_ten};
use job::pace::Finished;
use maud::{Markup, html};

use super::{Sight, count};
use crate::dimension::{self, tenths};
use crate::link;
use crate::next;
use crate::shell::upper;

/// How many lessons or finished zones are listed together.
pub(super) const MOST: usize = 60;

impl Sight<'_> {
    /// Every zone of which something became known.
    pub(super) fn rates(&self) -> Markup {
        html! {
            section #zones {
                h2 { "How often each zone was bad" }
                p.small { "The drawn range is what the shop knows now, before anything is seen on a car; the hollow lozenge is the starting guess, which counts like " (format!("{:.0}", job::forecast::learn::USUAL_WEIGHT)) " opened zones. A zone that clues or age had made likely teaches accordingly less. Open a row for the cars that taught it." }
                @for rate in &self.learned.taught.rates {
                    @let now = Chance { low: rate.low, likely: rate.mean, high: rate.high };
                    details.guess {
                        summary {
                            span {
                                b { (self.zone_name(&rate.zone_id)) } br;
                                span.soft.small { (opened(rate.opened, rate.bad)) ". Guess " (tenths(rate.start)) ", now " (in_ten(&now)) }
                            }
                            (dimension::learned(rate.start, &now))
                        }
                        (self.teachers(&rate.zone_id))
                    }
                }
            }
        }
    }

    /// The cars and entries that taught a zone's rate.
    fn teachers(&self, zone_id: &str) -> Markup {
        let lessons = taught_by(&self.learned.lessons, zone_id);
        html! {
            ul.plain-list.small { @for lesson in lessons.iter().take(MOST) { li { (self.teacher(lesson)) } } }
            @if lessons.len() > MOST { p.small { "And " (lessons.len() - MOST) " more." } }
        }
    }

    fn teacher(&self, lesson: &Lesson) -> Markup {
        html! {
            a.touch href=(link::zone(lesson.car, &lesson.instance)) { (self.title(lesson.car)) } ", " (self.place(lesson.car, &lesson.instance)) ": "
            b { @if lesson.bad { "bad" } @else { "sound" } } ", foretold " (tenths(lesson.foretold)) ", "
            a.touch href=(link::entry(lesson.car, lesson.entry)) { "entry " (lesson.entry) }
        }
    }

    fn zone_name(&self, id: &str) -> String {
        self.app.shop.catalogue().zone(id).map_or_else(|| id.to_owned(), |zone| upper(&zone.name))
    }

    /// How often each clue was there.
    pub(super) fn clues(&self) -> Markup {
        let clues = &self.learned.taught.clues;
        html! {
            @if !clues.is_empty() {
                section #clues {
                    h2 { "How often each clue was right" }
                    p.small { "Counted is what was looked for before a zone became known. A clue tells much when it is seldom there over sound metal." }
                    @for clue in clues { (self.clue(clue)) }
                }
            }
        }
    }

    fn clue(&self, clue: &TaughtClue) -> Markup {
        let row = self.app.shop.catalogue().clue(&clue.clue_id);
        let share = |share: &TaughtShare, over: &str| {
            let now = Chance { low: share.low, likely: share.mean, high: share.high };
            html! {
                p.small { "There over " b { (over) } ": " @if share.looked == 0 { "not looked for yet" } @else { (share.there) " of " (share.looked) } ". Guess " (tenths(share.start)) ", now " (in_ten(&now)) "." }
                (dimension::learned(share.start, &now))
            }
        };
        html! {
            details.guess.clue {
                summary {
                    span {
                        b { @if let Some(row) = row { (upper(&row.clue)) } @else { (clue.clue_id) } } br;
                        span.soft.small {
                            @if let Some(row) = row { (self.zone_name(&row.target_zone)) ", " }
                            "looked for " (count(clue.bad.looked + clue.sound.looked, "time", "times"))
                        }
                    }
                }
                (share(&clue.bad, "bad metal"))
                (share(&clue.sound, "sound metal"))
            }
        }
    }

    /// A finished zone as a row.
    pub(super) fn finished(&self, one: &Finished) -> Markup {
        html! {
            tr {
                th scope="row" {
                    a href=(link::zone(one.car, &one.zone)) { (upper(&self.place(one.car, &one.zone))) } br; span.soft.small { (self.title(one.car)) ", " }  a.touch href=(link::entry(one.car, one.entry)) { "entry " (one.entry) }
                }
                td.r { (next::hours(one.foretold.p10)) " to " (next::hours(one.foretold.p95)) }
                td.r { (next::hours(one.worked_h)) }
            }
        }
    }
}

fn opened(known: usize, bad: usize) -> String {
    format!("{known} known, {bad} bad")
}
