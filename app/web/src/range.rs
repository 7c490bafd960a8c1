//! The Range sheet: the hours of metal work still to do, what moves them most, what moved since the owner was
//! told, and what has to be asked.

mod curve;

use std::collections::BTreeSet;

use axum::extract::{Path, State};
use job::ask;
use job::body::Instance;
use job::car::{Car, Entry};
use job::ids::CarId;
use job::outlook::{self, Known, Movement, Outlook, Range, ZoneShare};
use job::person::Deed as May;
use job::question::{Hours, RangeSaid};
use job::shop::ShopError;
use job::validate::instance;
use job::what::What;
use maud::{Markup, html};

use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed, Ground, Sheet};
use crate::next::hours;
use crate::shell::upper;
use crate::state::App;
use crate::{dimension, link};
use curve::Curve;

/// How many zones, entries, findings and ranges are told.
const WIDEST: usize = 8;
const MOVERS: usize = 8;
const FINDINGS: usize = 12;
const TOLD: usize = 12;

/// A range that the owner was told.
struct Told<'a> {
    entry: &'a Entry,
    range: RangeSaid,
    /// How it was told.
    how: String,
    /// How many entries the record held when it was worked out.
    count: u64,
}

/// What the parts of the sheet are drawn from.
struct Sight<'a> {
    app: &'a App,
    car: &'a Car,
    outlook: &'a Outlook,
    range: &'a Range,
    told: &'a [Told<'a>],
    leads: bool,
}

/// The sheet.
pub(crate) async fn page(State(app): State<App>, access: Access, Path(id): Path<CarId>) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let outlook = app.shop.outlook(&car)?;
    let range = outlook::range(&car, app.shop.catalogue(), &outlook).map_err(ShopError::from)?;
    let told = told(&car);
    let sight = Sight {
        app: &app,
        car: &car,
        outlook: &outlook,
        range: &range,
        told: &told,
        leads: access.role.may(May::Manage),
    };
    let curve = Curve::through(&range.outcome);
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Range,
        title: "Range",
        says: &sight.says(curve.as_ref()),
        legend: false,
        deed: Deed::Go(format!("{}/questions", link::shell(id)), "Questions"),
    };
    let moved = sight.moved()?;
    Ok(page.draw(html! {
        @if !outlook.zones.is_empty() {
            (sight.figures(curve.as_ref()))
            (sight.stop_and_ask())
            (sight.widest())
            (moved)
            (sight.told())
            (sight.how())
        }
    }))
}

/// What the owner was told, in the order in which it was told.
fn told(car: &Car) -> Vec<Told<'_>> {
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
    fn says(&self, curve: Option<&Curve>) -> String {
        let said = ask::said(self.range);
        if self.outlook.zones.is_empty() {
            return "This version does not know the body of this car, so it has no hours for it.".into();
        }
        if said.p95_h < 1.0 {
            return "By this record no metal work is left to do.".into();
        }
        let hours = if said.p10_h == said.p95_h {
            format!("{:.0} hours still to do.", said.p50_h)
        } else {
            format!("{:.0} to {:.0} hours still to do, likely {:.0}.", said.p10_h, said.p95_h, said.p50_h)
        };
        match (self.car.details.budget_h, curve) {
            (Some(agreed), Some(curve)) => {
                format!("{hours} {} of passing the {agreed:.0} agreed.", in_words(1.0 - curve.below(agreed)))
            }
            (Some(agreed), None) if said.p50_h > agreed => format!("{hours} That is past the {agreed:.0} agreed."),
            (Some(agreed), None) => format!("{hours} That is within the {agreed:.0} agreed."),
            (None, _) => hours,
        }
    }

    fn figures(&self, curve: Option<&Curve>) -> Markup {
        let outcome = &self.range.outcome;
        let said = ask::said(self.range);
        let agreed = self.car.details.budget_h;
        let rows = [
            ("P10", "one such shell in ten is under", said.p10_h),
            ("P50", "half are under: the likely figure", said.p50_h),
            ("P80", "eight in ten are under", said.p80_h),
            ("P95", "nineteen in twenty are under", said.p95_h),
        ];
        let words = rows.map(|(_, words, h)| format!("{words} {h:.0} hours")).join("; ");
        let says = format!("Of such shells, {words}{}.", agreed.map_or(String::new(), |h| format!("; agreed {h:.0}")));
        html! {
            figure {
                div.beside {
                    @match curve {
                        Some(curve) => (curve.draw(outcome, agreed, &says)),
                        None => div.wait { p { "There is nothing uncertain enough to draw: every zone is known or decided." } },
                    }
                    table {
                        caption { "Hours of metal work" }
                        tbody {
                            @for (p, words, h) in rows { tr { th scope="row" { (p) ", " (words) } td.r { (format!("{h:.0} h")) } } }
                            @if let Some(agreed) = agreed {
                                tr { th scope="row" { "Agreed with the owner" } td.r { (format!("{agreed:.0} h")) } }
                                @if let Some(curve) = curve {
                                    tr { th scope="row" { "Past what was agreed" } td.r { (tenths(1.0 - curve.below(agreed))) } }
                                }
                            }
                        }
                    }
                }
                @if curve.is_some() {
                    figcaption {
                        "Of ten such shells, so many are done within so many hours. The curve runs through the four figures and is smoothed between them; its ends are drawn, not known."
                        @if agreed.is_some() { " Upright lines: past what was agreed. As high as they stand there, so often it is passed." }
                    }
                }
            }
            @if agreed.is_none() {
                p { "No hours have been agreed for metal, so nothing is said of passing them."
                    @if self.leads { " " a.touch href={ (link::shell(self.car.id)) "/details" } { "Enter what was agreed" } } }
            }
            @if let Some(rates) = &self.car.details.rates {
                p { "At the bench rate, multiplied last: " b { (ask::money(Hours { low: said.p10_h, likely: said.p50_h, high: said.p95_h }, rates)) } "." }
            }
            dl.facts {
                div { dt { "Known or decided, mean" } dd { (hours(self.range.known_h)) } }
                div { dt { "Only a chance, mean" } dd { (hours(self.range.guessed_h)) } }
            }
        }
    }

    fn stop_and_ask(&self) -> Markup {
        let limit = hours(self.car.details.ask_limit_h());
        let findings = ask::findings(self.car, self.outlook);
        let (asked, unasked): (Vec<_>, Vec<_>) = findings.iter().partition(|f| f.question.is_some());
        let questions: BTreeSet<usize> = asked.iter().filter_map(|f| f.question).collect();
        let shell = link::shell(self.car.id);
        html! {
            @if !unasked.is_empty() {
                div.note.stop.stack {
                    h2 { "Stop and ask" }
                    p {
                        @if unasked.len() == 1 { "One finding is" } @else { (unasked.len()) " findings are" }
                        " over the " (limit) " for a single finding, and the owner has not been asked. Nothing is cut there until the owner has chosen."
                    }
                    table {
                        thead { tr { th scope="col" { "Finding" } th.r scope="col" { "About" } th scope="col" { @if self.leads { "To do" } @else { "Entry" } } } }
                        tbody {
                            @for finding in unasked.iter().take(FINDINGS) {
                                tr {
                                    th scope="row" { a href=(link::entry(self.car.id, finding.entry.seq)) { (upper(&finding.zone.name())) } }
                                    td.r { (hours(finding.hours)) }
                                    td {
                                        @if self.leads { a href={ (shell) "/questions/new?zone=" (finding.zone.id) } { "Draft the question" } }
                                        @else { (finding.entry.seq) }
                                    }
                                }
                            }
                        }
                    }
                    @if unasked.len() > FINDINGS { p { "And " (unasked.len() - FINDINGS) " more." } }
                    p { a.btn.main href={ (shell) "/questions" } { "To the questions" } }
                }
            } @else if asked.is_empty() {
                p { "Stop and ask: a single finding over " (limit) " goes to the owner first. None has been found." }
            }
            @if !asked.is_empty() {
                p {
                    @if asked.len() == 1 { "One finding" } @else { (asked.len()) " findings" }
                    " over the " (limit) " for a single finding "
                    @if asked.len() == 1 { "is" } @else { "are" } " in "
                    @for (n, number) in questions.iter().enumerate() {
                        @if n > 0 { ", " }
                        a.touch href=(link::question(self.car.id, *number)) { "question " (number) }
                    }
                    "."
                }
            }
        }
    }

    /// The zones to which most of the width is owed.
    fn widest(&self) -> Markup {
        let mut zones: Vec<&ZoneShare> = self.range.by_zone.iter().filter(|z| z.share > 0.0).collect();
        zones.sort_by(|a, b| b.share.total_cmp(&a.share));
        zones.truncate(WIDEST);
        let together: f64 = zones.iter().map(|z| z.share).sum();
        let most = zones.first().map_or(1.0, |z| z.share);
        html! {
            @if !zones.is_empty() {
                section #widest {
                    h2 { "What moves it most" }
                    @if zones.len() > 1 {
                        p {
                            @if most < 0.1 { "No zone moves it much by itself: they go together. " }
                            "Of the spread, " (part(together)) " is owed to these " (zones.len()) " of " (self.range.by_zone.len()) " zones."
                        }
                    }
                    table {
                        thead { tr { th scope="col" { "Zone" } th.r scope="col" { "Mean" } th scope="col" { "Of the spread" } th.wide-only scope="col" { span.soft { "least to most" } } } }
                        tbody { @for zone in &zones { (self.wide(zone, most)) } }
                    }
                    p { a.touch href={ (link::shell(self.car.id)) "/next" } { "Which look is worth most for its hours" } }
                }
            }
        }
    }

    fn wide(&self, zone: &ZoneShare, most: f64) -> Markup {
        let thought = self.outlook.zone(&zone.zone);
        let end = 4.0 + 190.0 * zone.share / most;
        html! {
            tr {
                th scope="row" {
                    a href=(link::zone(self.car.id, &zone.zone)) { (self.name(&zone.zone)) }
                    br;
                    span.soft.small {
                        @match thought {
                            Some(z) if z.known == Known::NotKnown => { (z.likelihood.words()) ", " (outlook::in_ten(&z.chance)) },
                            _ => "known or decided",
                        }
                    }
                }
                td.r { (hours(zone.mean_h)) }
                td { (part(zone.share)) }
                td.wide-only {
                    svg width="200" height="24" viewBox="0 0 200 24" aria-hidden="true" {
                        path.d.hair d="M4 0V24" {}
                        path.d.cut d=(format!("M4 12H{end:.1}")) {}
                        path.d d=(format!("M{end:.1} 4V20")) {}
                    }
                }
            }
        }
    }

    /// What moved the mean since the owner was last told, or, where nothing did, between the last two times.
    fn moved(&self) -> Result<Markup, Fault> {
        let last = self.told.last();
        let since = last.map_or(1, |told| told.count);
        let before = self.told.iter().rev().find(|told| told.count < since);
        let first = before.map_or(1, |told| told.count);
        let mut moved = outlook::movements(self.car, self.app.shop.catalogue(), first).map_err(ShopError::from)?;
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

    fn told(&self) -> Markup {
        let now = ask::said(self.range);
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

    fn how(&self) -> Markup {
        let own = |file| self.app.shop.catalogue().is_shops_own(file);
        html! {
            section #how {
                h2 { "How it was worked out, and what is not in it" }
                ul.plain-list {
                    li { "What is known to need metal counts in full, what is not known by its chance, and what the owner has decided by the option chosen." }
                    @for note in &self.range.notes { li { (note) } }
                    li { "Zones do not add up at P10 or P95: not everything goes well, or badly, at once." }
                    @if !own("zones.csv") { li { "The hours of each repair are starting guesses until the shop's own figures replace them." } }
                }
            }
        }
    }

    fn day(&self, entry: &Entry) -> String {
        entry.when().to_zoned(self.app.zone.clone()).strftime("%-d %b %Y").to_string()
    }

    fn name(&self, zone: &str) -> String {
        instance(&self.car.details, zone).map_or_else(|| zone.to_owned(), |i: &Instance| upper(&i.name()))
    }
}

fn range_words(range: RangeSaid) -> String {
    Hours { low: range.p10_h, likely: range.p50_h, high: range.p95_h }.say()
}

/// A chance in words that claim no more than is known of it.
fn in_words(chance: f64) -> &'static str {
    const WORDS: [(f64, &str); 12] = [
        (0.05, "About one chance in twenty"),
        (0.1, "About one chance in ten"),
        (0.2, "About one chance in five"),
        (0.25, "About one chance in four"),
        (1.0 / 3.0, "About one chance in three"),
        (0.4, "About two chances in five"),
        (0.5, "About an even chance"),
        (0.6, "About three chances in five"),
        (2.0 / 3.0, "About two chances in three"),
        (0.75, "About three chances in four"),
        (0.8, "About four chances in five"),
        (0.9, "About nine chances in ten"),
    ];
    if chance < 0.045 {
        return "Less than one chance in twenty";
    }
    if chance > 0.91 {
        return "More than nine chances in ten";
    }
    nearest(&WORDS, chance)
}

/// A share in words.
fn part(share: f64) -> &'static str {
    const WORDS: [(f64, &str); 13] = [
        (0.01, "about a hundredth"),
        (0.02, "about a fiftieth"),
        (1.0 / 30.0, "about a thirtieth"),
        (0.05, "about a twentieth"),
        (0.1, "about a tenth"),
        (0.2, "about a fifth"),
        (0.25, "about a quarter"),
        (1.0 / 3.0, "about a third"),
        (0.4, "about two fifths"),
        (0.5, "about half"),
        (2.0 / 3.0, "about two thirds"),
        (0.75, "about three quarters"),
        (0.9, "about nine tenths"),
    ];
    match share {
        s if s < 0.0075 => "less than a hundredth",
        s if s > 0.95 => "nearly all",
        s => nearest(&WORDS, s),
    }
}

fn nearest(words: &[(f64, &'static str)], value: f64) -> &'static str {
    let off = |at: f64| (at - value).abs();
    let best = words.iter().reduce(|best, one| if off(one.0) < off(best.0) { one } else { best });
    best.map_or("", |(_, words)| words)
}

/// A chance in tens, for a table.
fn tenths(chance: f64) -> String {
    match (chance * 10.0).round() {
        n if n < 1.0 => "under 1 in 10".into(),
        n if n > 9.0 => "over 9 in 10".into(),
        n => format!("about {n:.0} in 10"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_said_and_never_written_as_percent() {
        assert_eq!(in_words(0.34), "About one chance in three");
        assert_eq!(in_words(0.01), "Less than one chance in twenty");
        assert_eq!(in_words(0.99), "More than nine chances in ten");
        assert_eq!(
            (tenths(0.34), tenths(0.0), tenths(1.0)),
            ("about 3 in 10".into(), "under 1 in 10".into(), "over 9 in 10".into())
        );
        assert_eq!((part(0.34), part(0.01), part(1.0)), ("about a third", "about a hundredth", "nearly all"));
        for percent in 0..=100 {
            let p = f64::from(percent) / 100.0;
            assert!(!in_words(p).is_empty() && !part(p).is_empty(), "{percent}");
        }
    }
}
