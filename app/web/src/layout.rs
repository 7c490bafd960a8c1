//! The sheet: head, drawing, margin with legend, numbered sheets and title block, and the bar at the thumb.

use jiff::Timestamp;
use job::car::Car;
use maud::{DOCTYPE, Markup, html};

use crate::access::Access;
use crate::drawing;
use crate::link;
use crate::state::App;

/// What a sheet lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ground {
    /// Warm paper.
    Paper,
    /// Neutral grey, for every page that shows a colour.
    Grey,
    /// Neutral white, for pages used with paint in the hand.
    Plain,
    /// The same in a dark room; never with a colour on it.
    Booth,
}

impl Ground {
    fn class(self) -> Option<&'static str> {
        match self {
            Self::Paper => None,
            Self::Grey => Some("grey"),
            Self::Plain => Some("plain"),
            Self::Booth => Some("booth"),
        }
    }
}

/// A car's sheets, in the order of the index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sheet {
    /// The outline.
    Shell,
    /// What is probably hidden, and where to look.
    NextLook,
    /// Climate, litres, film.
    Coats,
    /// Paint by angle.
    Colour,
    /// Hours and money as a range.
    Range,
    /// What the owner is asked, answers and is told.
    Questions,
    /// Everything that happened.
    Record,
}

impl Sheet {
    const ALL: [Self; 7] =
        [Self::Shell, Self::NextLook, Self::Coats, Self::Colour, Self::Range, Self::Questions, Self::Record];

    fn name(self) -> &'static str {
        match self {
            Self::Shell => "Shell",
            Self::NextLook => "Next look",
            Self::Coats => "Coats",
            Self::Colour => "Colour",
            Self::Range => "Range",
            Self::Questions => "Questions",
            Self::Record => "Record",
        }
    }

    fn address(self, car: &Car) -> String {
        let shell = link::shell(car.id);
        match self {
            Self::Shell => shell,
            Self::NextLook => format!("{shell}/next"),
            Self::Coats => format!("{shell}/coats"),
            Self::Colour => format!("{shell}/colour"),
            Self::Range => format!("{shell}/range"),
            Self::Questions => format!("{shell}/questions"),
            Self::Record => format!("{shell}/record"),
        }
    }

    fn waits(self, car: &Car) -> String {
        match self {
            Self::Shell => {
                let all = job::validate::instances(&car.details);
                let open = all.iter().filter(|i| car.state(&i.id) == job::car::ZoneState::NotLooked).count();
                if open == 0 { format!("{} zones", all.len()) } else { format!("{open} not looked") }
            }
            Self::NextLook | Self::Coats | Self::Range => String::new(),
            Self::Questions => {
                let open = car.threads().iter().filter(|t| t.standing() == job::question::Standing::Open).count();
                if open == 0 { String::new() } else { format!("{open} open") }
            }
            Self::Colour => count(car.measurements().count(), "measurement", "measurements"),
            Self::Record => count(car.count as usize, "entry", "entries"),
        }
    }
}

fn count(n: usize, one: &str, many: &str) -> String {
    match n {
        0 => String::new(),
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    }
}

/// What the bar at the thumb offers on this sheet.
pub(crate) enum Deed {
    /// A place to go.
    Go(String, &'static str),
    /// The form on this page to send.
    Send(&'static str, &'static str),
}

/// A page of one car.
pub(crate) struct CarPage<'a> {
    /// The program.
    pub(crate) app: &'a App,
    /// Who is asking.
    pub(crate) access: &'a Access,
    /// The car.
    pub(crate) car: &'a Car,
    /// What it lies on.
    pub(crate) ground: Ground,
    /// Which of the numbered sheets it is, or belongs to.
    pub(crate) sheet: Sheet,
    /// Its name.
    pub(crate) title: &'a str,
    /// What it says, in one sentence.
    pub(crate) says: &'a str,
    /// Whether the margin explains the hatching.
    pub(crate) legend: bool,
    /// What the bar at the thumb offers.
    pub(crate) deed: Deed,
}

impl CarPage<'_> {
    /// Draws the page around its body.
    pub(crate) fn draw(&self, body: Markup) -> Markup {
        self.draw_again(body, None)
    }

    /// Draws the page around its body; after so many seconds a browser without scripts asks for it anew.
    pub(crate) fn draw_again(&self, body: Markup, seconds: Option<u32>) -> Markup {
        let car = self.car;
        let crumbs = html! {
            a href="/" { "Cars" }
            a href=(link::shell(car.id)) { (car.details.title) }
        };
        let content = html! {
            div.sheet {
                main #main {
                    h1 { (self.title) }
                    @if !self.says.is_empty() { p.says { (self.says) } }
                    (body)
                }
                (self.margin())
            }
            nav.bar.no-print aria-label="Quick" {
                a href="/" { "Cars" }
                a href="#sheets" { "Sheets" }
                @match &self.deed {
                    Deed::Go(to, words) => a.main href=(to) { (words) },
                    Deed::Send(form, words) => button.main form=(form) { (words) },
                }
            }
        };
        let title = format!("{} - {}", self.title, car.details.title);
        let head = Head { title: &title, ground: self.ground, again: seconds };
        document(&head, crumbs, Some(self.access), Some(car), content)
    }

    fn margin(&self) -> Markup {
        let car = self.car;
        html! {
            aside.margin aria-label="Margin of the sheet" {
                div.stick {
                    @if self.legend { (drawing::legend()) }
                    section #sheets {
                        h2 { "Sheets of this car" }
                        ol.index {
                            @for (n, sheet) in Sheet::ALL.into_iter().enumerate() {
                                li {
                                    a href=(sheet.address(car)) aria-current=[(sheet == self.sheet).then_some("page")] {
                                        span.n { (n + 1) } (sheet.name()) span.say { (sheet.waits(car)) }
                                    }
                                }
                            }
                        }
                    }
                    dl.block {
                        div.wide { dt { "Car" } dd { (car.details.title) br; (style(car)) ", " (car.details.year) @if car.details.invented { br; b { "Invented car" } } } }
                        div { dt { "Sheet" } dd { (self.title) } }
                        div { dt { "Stage" } dd { (car.stage.words()) } }
                        div { dt { "Drawn from" } dd { "entry " (car.count) } }
                        div { dt { "Drawn" } dd { (when(self.app, Timestamp::now())) } }
                        div.wide { dt { "Head of the record" } dd.chain { (car.head.short()) } }
                        div { dt { "This device" } dd { (self.access.who_name().unwrap_or("nobody picked")) } }
                        div { dt { "Unsent" } dd data-unsent="count" { "none known" } }
                    }
                }
            }
        }
    }
}

/// The body style in words.
fn style(car: &Car) -> &'static str {
    job::body::BodyStyle::from_id(&car.details.body).map_or("body not known to this version", |s| s.name())
}

/// A page to be read from two metres with paint in the hand: nothing on it but its body.
pub(crate) fn hand(title: &str, dark: bool, body: Markup) -> Markup {
    let ground = if dark { Ground::Booth } else { Ground::Plain };
    html! {
        (DOCTYPE)
        html lang="en" class=[ground.class()] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " - guidecoat" }
                link rel="icon" href="/ui/mark.svg";
                link rel="stylesheet" href="/ui/guidecoat.css";
            }
            body.bare { main #main class="pour" { (body) } }
        }
    }
}

/// A page that belongs to no car.
pub(crate) fn shop_page(access: &Access, title: &str, says: &str, body: Markup) -> Markup {
    let crumbs = html! { a href="/" { "Cars" } @if title != "Cars" { span { (title) } } };
    let content = html! {
        div.sheet.solo { main #main { h1 { (title) } @if !says.is_empty() { p.says { (says) } } (body) } }
        nav.bar.no-print aria-label="Quick" {
            a href="/" { "Cars" }
            a href="/people" { "People" }
            @if access.role.may(job::person::Deed::Manage) { a.main href="/cars/new" { "New car" } }
        }
    };
    document(&Head { title, ground: Ground::Paper, again: None }, crumbs, Some(access), None, content)
}

/// A page without anybody signed in.
pub(crate) fn bare(title: &str, body: Markup) -> Markup {
    let content = html! { div.sheet.solo { main #main { h1 { (title) } (body) } } };
    let head = Head { title, ground: Ground::Paper, again: None };
    document(&head, html! { a href="/" { "Cars" } }, None, None, content)
}

/// What stands above a page.
struct Head<'a> {
    title: &'a str,
    ground: Ground,
    /// After so many seconds a browser without scripts asks for the page anew.
    again: Option<u32>,
}

fn document(head: &Head<'_>, crumbs: Markup, access: Option<&Access>, car: Option<&Car>, content: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" class=[head.ground.class()] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (head.title) " - guidecoat" }
                // With scripts the page is kept up to date in its place: a reload takes away focus and reading.
                @if let Some(seconds) = head.again { noscript { meta http-equiv="refresh" content=(seconds); } }
                link rel="icon" href="/ui/mark.svg";
                link rel="stylesheet" href="/ui/guidecoat.css";
                script type="module" src="/ui/guidecoat.js" {}
            }
            body data-car=[car.map(|c| c.id.to_string())] data-count=[car.map(|c| c.count)] {
                a.skip href="#main" { "To the sheet" }
                (drawing::patterns())
                header.top {
                    nav.crumb aria-label="Where you are" { (crumbs) }
                    a.queue #queue-strip href="#unsent" hidden {}
                    @if let Some(access) = access {
                        nav.row.small.no-print aria-label="Shop" {
                            a href="/people" { "People" }
                            @if access.session.is_some() {
                                form method="post" action="/sign-out" { button.plain { "Sign out" } }
                            }
                        }
                    }
                }
                (content)
            }
        }
    }
}

/// A moment in the shop's time zone.
pub(crate) fn when(app: &App, at: Timestamp) -> String {
    at.to_zoned(app.zone.clone()).strftime("%-d %b %Y, %H:%M").to_string()
}

/// Who is writing: everybody who may, one of them picked.
pub(crate) fn who_picks(access: &Access, picked: Option<&str>) -> Markup {
    let picked = picked.map(str::to_owned).or_else(|| access.who.map(|id| id.to_string()));
    html! {
        fieldset {
            legend { "Who is writing?" }
            @if access.writers.is_empty() {
                p.note { "Nobody is entered yet. " a href="/people" { "Enter the people of the shop" } ", then come back." }
            } @else {
                div.picks.side {
                    @for person in &access.writers {
                        label.pick {
                            input type="radio" name="who" value=(person.id) required
                                checked[picked.as_deref() == Some(person.id.to_string().as_str())];
                            span { (person.name) @if person.name != person.role.words() { small { (person.role.words()) } } }
                        }
                    }
                }
                p.hint { "Kept for this device until someone picks another." }
            }
        }
    }
}
