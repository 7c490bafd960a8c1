//! What moved the mean hours since the owner was told, and what the owner was told.

use job::ask;
use job::car::{Car, Entry};
use job::outlook::Movement;
use job::question::{Hours, RangeSaid};
use job::what::What;
use maud::{Markup, html};

use super::Sight;
use crate::fault::Fault;
use crate::next::hours;
use crate::{dimension, link};

/// How many entries and ranges are told.
const MOVERS: usize = 8;
const TOLD: usize = 12;

/// A range that the owner was told.
pub(super) struct Told<'a> {
    pub(super) entry: &'a Entry,
    pub(super) range: RangeSaid,
    /// How it was told.
    pub(super) how: String,
    /// How many entries the record held when it was worked out.
    pub(super) count: u64,
}

/// What the owner was told, in the order in which it was told.
pub(super) fn told(car: &Car) -> Vec<Told<'_>> {
    let threads = car.threads();
    let mut told = Vec::new();
    for entry in car.counting() {
        match &entry.what {
            What::Reported(report) => {
                let how = format!("report to {}", report.to.strftime("%-d %b %Y"));
                told.push(Told { entry, range: report.range, how, count: entry.seq });
            }
            What::Answered(answer) => {
                let number = threads.iter().find(|t| t.holds(answer.question)).map(|t| t.number);
                let how = number.map_or("beside a question".into(), |n| format!("beside question {n}"));
                told.push(Told { entry, range: answer.shown.range, how, count: answer.shown.count });
            }
            _ => {}
        }
    }
    told
}

impl Sight<'_> {
    /// What moved the mean since the owner was last told, or, where nothing did, between the last two times.
    pub(super) async fn moved(&self) -> Result<Markup, Fault> {
        let last = self.told.last();
        let since = last.map_or(1, |told| told.count);
        let before = self.told.iter().rev().find(|told| told.count < since);
        let first = before.map_or(1, |told| told.count);
        let car = self.car.clone();
        let mut moved = self.app.aside(move |shop| async move { shop.movements(&car, first).await }).await?;
        let news = moved.split_off(moved.partition_point(|m| m.seq <= since));
        Ok(html! {
            section #moved {
                h2 { @if last.is_some() { "What moved since the owner was told" } @else { "What moved it since the car was opened" } }
                @match last {
                    Some(told) => p { "Last told: " (range_words(told.range)) ", " (told.how) ", " a.touch href=(link::entry(self.car.id, told.entry.seq)) { "entry " (told.entry.seq) } "." },
                    None => p { "The owner has not been told a range yet." },
                }
                @if news.is_empty() { p { "No entry since then moved the hours." } } @else { (self.movers(news)) }
            }
            @if let Some(told) = last && !moved.is_empty() {
                section {
                    h2 { "What had moved when it was told" }
                    p { @match before { Some(before) => { "From " (before.how) " to " (told.how) ":" }, None => { "Up to " (told.how) ":" } } }
                    (self.movers(moved))
                }
            }
        })
    }

    /// Entries that moved the mean, the ones that moved it most first.
    fn movers(&self, mut moved: Vec<Movement>) -> Markup {
        let before = moved.first().map_or(0.0, |m| m.before_h);
        let after = moved.last().map_or(0.0, |m| m.after_h);
        moved.sort_by(|a, b| b.size_h().total_cmp(&a.size_h()).then(a.seq.cmp(&b.seq)));
        let most = moved.first().map_or(1.0, Movement::size_h);
        let rest = moved.len().saturating_sub(MOVERS);
        html! {
            p { "The mean went from " (hours(before)) " to " (hours(after)) "." }
            table {
                thead { tr { th scope="col" { "Entry" } th.r scope="col" { "Hours" } th.wide-only scope="col" { "fewer, more" } } }
                tbody { @for one in moved.iter().take(MOVERS) { (self.mover(one, most)) } }
            }
            @if rest > 0 { p.small.soft { "And " (rest) @if rest == 1 { " entry that moved it less." } @else { " entries that moved it less." } } }
        }
    }

    fn mover(&self, moved: &Movement, most: f64) -> Markup {
        let by = moved.after_h - moved.before_h;
        let end = 100.0 + 94.0 * by / most.max(0.1);
        let entry = self.car.entry(moved.seq);
        html! {
            tr {
                th scope="row" {
                    a href=(link::entry(self.car.id, moved.seq)) {
                        @match &moved.zone { Some(zone) => (self.name(zone)), None => (entry.map(|e| e.what.kind_words()).unwrap_or_default()) }
                    }
                    br;
                    span.soft.small { @if let Some(entry) = entry { (entry.what.say()) ", " (self.day(entry)) } }
                }
                td.r { (if by > 0.0 { "+" } else { "\u{2212}" }) (hours(by.abs())) }
                td.wide-only {
                    svg width="200" height="24" viewBox="0 0 200 24" aria-hidden="true" {
                        path.d.hair d="M100 0V24" {}
                        path.d.cut d=(format!("M100 12H{end:.1}")) {}
                        path.d d=(format!("M{end:.1} 4V20")) {}
                    }
                }
            }
        }
    }

    pub(super) fn told(&self) -> Markup {
        let now = ask::said(self.range());
        let most = self.told.iter().map(|t| t.range.p95_h).fold(now.p95_h, f64::max);
        let agreed = self.car.details.budget_h;
        let scale = dimension::scale(most.max(agreed.unwrap_or(0.0)));
        let mark =
            |r: RangeSaid| dimension::hours(Hours { low: r.p10_h, likely: r.p50_h, high: r.p95_h }, scale, agreed);
        html! {
            section #told {
                h2 { "What the owner was told" }
                @if self.told.is_empty() {
                    div.wait { p { "Nothing yet. A range is told in a report, and beside a question when it is answered." } }
                } @else {
                    @if self.told.len() > TOLD { p { "The last " (TOLD) " of " (self.told.len()) "; the record holds them all." } }
                    div.scroll tabindex="0" role="group" aria-label="Ranges told" {
                        table {
                            thead { tr { th scope="col" { "When" } th scope="col" { "Hours" } th.wide-only scope="col" { "Drawn" } } }
                            tbody {
                                @for told in self.told.iter().skip(self.told.len().saturating_sub(TOLD)) {
                                    tr {
                                        th scope="row" {
                                            a href=(link::entry(self.car.id, told.entry.seq)) { (self.day(told.entry)) }
                                            br;
                                            span.soft.small { (told.how) }
                                        }
                                        td { (range_words(told.range)) }
                                        td.wide-only { (mark(told.range)) }
                                    }
                                }
                                tr { th scope="row" { "Now" br; span.soft.small { @if self.told.last().is_some_and(|t| t.range == now) { "as last told" } @else { "not told yet" } } } td { (range_words(now)) } td.wide-only { (mark(now)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn range_words(range: RangeSaid) -> String {
    Hours { low: range.p10_h, likely: range.p50_h, high: range.p95_h }.say()
}
